import { lazy, Suspense, useMemo } from 'react'
import { station } from '../client/connect.ts'
import { turnCommands } from '../client/taking-back.ts'
import { walkCommandNow } from '../desk/walk.store.ts'
import { type Command, focusPlace, goTo, page, say, usePage } from '../page/page.ts'
import { PLACES } from '../page/places.ts'
import { save } from '../text/save.ts'
import { CommandList } from './CommandList.tsx'
import { Glossary } from './Glossary.tsx'

const FOCUS_BACK_MS = 60

/** With all its pages: fetched when somebody asks. */
const Guide = lazy(() => import('../guide/Guide.tsx'))

const own = (): Command[] => [
  ...PLACES.map(({ id, name, key, about }) => ({
    id: `go-${id}`,
    words: `${name}: ${about.toLowerCase()}`,
    group: 'Places',
    keys: key,
    run: () => {
      goTo(id)
      // The list gives the focus back to where it was, and only then.
      setTimeout(focusPlace, FOCUS_BACK_MS)
    },
  })),
  ...turnCommands(),
  walkCommandNow(),
  {
    id: 'theme',
    words: page.getState().theme === 'dark' ? 'Light page' : 'Dark page',
    group: 'Window',
    run: () => page.setState(({ theme }) => ({ theme: theme === 'dark' ? 'light' : 'dark' })),
  },
  {
    id: 'expanded',
    words: 'Show or hide expanded uncertainties',
    group: 'Window',
    run: () => page.setState(({ expanded }) => ({ expanded: !expanded })),
  },
  {
    id: 'guide',
    words: 'Guide: how things are done, and what to do when something is wrong',
    group: 'Help',
    run: () => page.setState({ guideOpen: 'first-night' }),
  },
  {
    id: 'glossary',
    words: 'Glossary: what the words mean',
    group: 'Window',
    run: () => page.setState({ glossaryOpen: true }),
  },
  {
    id: 'support',
    words: 'Save a bundle for whoever helps (no passwords in it)',
    group: 'Station',
    run: () => void saveSupportBundle(),
  },
  {
    id: 'single-keys',
    words: page.getState().singleKeys ? 'Turn single keys off' : 'Turn single keys on',
    group: 'Window',
    run: () => {
      page.setState(({ singleKeys }) => ({ singleKeys: !singleKeys }))
      say(
        page.getState().singleKeys
          ? 'Single keys work again.'
          : 'Single keys are off. Ctrl+K still opens this list.',
      )
    },
  },
]

async function saveSupportBundle(): Promise<void> {
  try {
    save((await station.station.support()) as unknown as Blob, 'stillpoint-support.json.gz')
  } catch (fault) {
    say(fault instanceof Error ? fault.message : String(fault))
  }
}

export function CommandListNow() {
  const open = usePage((state) => state.commandsOpen)
  const placed = usePage((state) => state.commands)
  const commands = useMemo(() => (open ? [...Object.values(placed).flat(), ...own()] : []), [open, placed])
  const glossary = usePage((state) => state.glossaryOpen)
  const guide = usePage((state) => state.guideOpen)
  if (guide !== null)
    return (
      <Suspense>
        <Guide
          name={guide}
          onGo={(name) => page.setState({ guideOpen: name })}
          onGlossary={() => page.setState({ guideOpen: null, glossaryOpen: true })}
          onClose={() => page.setState({ guideOpen: null })}
        />
      </Suspense>
    )
  if (glossary) return <Glossary onClose={() => page.setState({ glossaryOpen: false })} />
  if (!open) return null
  return <CommandList commands={commands} onClose={() => page.setState({ commandsOpen: false })} />
}
