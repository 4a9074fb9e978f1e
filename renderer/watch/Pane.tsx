import type { ReactNode } from 'react'
import { Button } from '../parts/Button.tsx'

interface Props {
  id: string
  title: string
  unit: string
  where: string
  /** What else must be known to read it. */
  note: string | undefined
  children: ReactNode
  onPicture: (id: string) => void
  onData: (id: string) => void
}

/** A plot and what can be taken from it. */
export function Pane({ id, title, unit, where, note, children, onPicture, onData }: Props) {
  return (
    <figure className="pane" data-pane={id}>
      <figcaption>
        <strong>{title}</strong>
        <span>{unit}</span>
        <span className="pane-where">{note === undefined ? where : `${where}, ${note}`}</span>
        <span className="pane-tools">
          <Button look="quiet" onPress={() => onPicture(id)}>
            Save picture
          </Button>
          <Button look="quiet" onPress={() => onData(id)}>
            Copy data
          </Button>
        </span>
      </figcaption>
      {children}
    </figure>
  )
}
