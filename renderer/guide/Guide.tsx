import { first } from '../../app/base/lists.ts'
import { Reading } from '../parts/Reading.tsx'
import { Scroll } from '../parts/Scroll.tsx'
import { GuideText } from './GuideText.tsx'
import { GUIDE, type GuideName } from './pages.ts'

interface Props {
  /** Page that is open; the first where there is none of that name. */
  name: string
  onGo: (name: GuideName) => void
  onGlossary: () => void
  onClose: () => void
}

/** The guide inside the window: no network, no other program. */
export default function Guide({ name, onGo, onGlossary, onClose }: Props) {
  const page = GUIDE.find((one) => one.name === name) ?? first(GUIDE)
  return (
    <Reading title={page.title} look="guide" onClose={onClose}>
      <div className="guide-parts">
        <nav aria-label="Pages of the guide">
          <ul>
            {GUIDE.map((one) => (
              <li key={one.name}>
                <button
                  type="button"
                  aria-current={one.name === page.name ? 'page' : undefined}
                  onClick={() => onGo(one.name)}
                >
                  {one.title}
                </button>
              </li>
            ))}
            <li>
              <button type="button" onClick={onGlossary}>
                Glossary
              </button>
            </li>
          </ul>
        </nav>
        <Scroll label={page.title} className="guide-scroll" key={page.name}>
          <GuideText text={page.text} onGo={onGo} />
        </Scroll>
      </div>
    </Reading>
  )
}
