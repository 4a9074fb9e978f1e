import type { ReactNode } from 'react'
import { Dialog, Heading, Modal, ModalOverlay } from 'react-aria-components'
import { Button } from './Button.tsx'

interface Props {
  title: string
  children: ReactNode
  /** What the button will do, as a verb: 'Stop the session'. */
  act: string
  danger?: boolean
  disabled?: boolean
  problem?: string | undefined
  onAct: () => void
  onClose: () => void
}

/** Says what will happen before it does: what, from, to, and what follows. */
export function Ask({ title, children, act, danger, disabled, problem, onAct, onClose }: Props) {
  return (
    <ModalOverlay className="veil" isOpen isDismissable={!danger} onOpenChange={(open) => !open && onClose()}>
      <Modal className="ask">
        <Dialog role={danger ? 'alertdialog' : 'dialog'} className="ask-dialog">
          <Heading slot="title">{title}</Heading>
          <div className="ask-body">{children}</div>
          {problem && (
            <p className="problem" role="alert">
              {problem}
            </p>
          )}
          <div className="ask-buttons">
            <Button onPress={onClose}>Cancel</Button>
            <Button look={danger ? 'danger' : 'main'} onPress={onAct} disabled={disabled}>
              {act}
            </Button>
          </div>
        </Dialog>
      </Modal>
    </ModalOverlay>
  )
}
