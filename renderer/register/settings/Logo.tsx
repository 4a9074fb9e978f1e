import { FileTrigger } from 'react-aria-components'
import { Button } from '../../parts/Button.tsx'
import { Problem } from '../../parts/Problem.tsx'

interface Props {
  /** The picture as an address that holds it; empty where there is none. */
  picture: string
  problem: string | undefined
  onChoose: (file: File) => void
  onRemove: () => void
}

/** The picture at the head of each report. */
export function Logo({ picture, problem, onChoose, onRemove }: Props) {
  return (
    <div className="stack">
      <h3>Logo at the head of a report</h3>
      {picture && <img className="logo-now" src={picture} alt="The laboratory’s logo" />}
      <div className="row">
        <FileTrigger
          acceptedFileTypes={['image/png', 'image/jpeg']}
          onSelect={(files) => files?.[0] && onChoose(files[0])}
        >
          <Button onPress={() => undefined}>{picture ? 'Choose another picture' : 'Choose a picture'}</Button>
        </FileTrigger>
        {picture && <Button onPress={onRemove}>Remove the logo</Button>}
        <span className="faint">PNG or JPEG, up to 300 kB.</span>
      </div>
      <Problem words={problem} />
    </div>
  )
}
