import { Ask } from '../parts/Ask.tsx'

interface Props {
  onClose: () => void
  onSave: () => void
}

/** A bath without uniformity or stability: asked once at each save. */
export function FiguresAsk({ onClose, onSave }: Props) {
  return (
    <Ask title="The bath's figures are not entered" act="Save without them" onClose={onClose} onAct={onSave}>
      <p>
        Uniformity or stability of the bath is missing. Budgets will have nothing for it, and the results will
        look better than they are. Both can still be entered before results are signed.
      </p>
    </Ask>
  )
}
