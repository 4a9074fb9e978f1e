import type { ReactNode } from 'react'
import { Dialog, Heading, Modal, ModalOverlay } from 'react-aria-components'
import { Button } from './Button.tsx'

interface Props {
  title: string
  look: 'guide' | 'glossary'
  children: ReactNode
  onClose: () => void
}

/** Something to read over the place that one works in: it asks nothing, and a press beside it closes it. */
export function Reading({ title, look, children, onClose }: Props) {
  return (
    <ModalOverlay className="veil" isOpen isDismissable onOpenChange={(open) => !open && onClose()}>
      <Modal className={`ask ${look}`}>
        <Dialog className="ask-dialog">
          <Heading slot="title">{title}</Heading>
          {children}
          <div className="ask-buttons">
            <Button onPress={onClose}>Close</Button>
          </div>
        </Dialog>
      </Modal>
    </ModalOverlay>
  )
}
