import {
  Autocomplete,
  Dialog,
  Header,
  Input,
  Menu,
  MenuItem,
  MenuSection,
  Modal,
  ModalOverlay,
  SearchField,
  useFilter,
} from 'react-aria-components'
import type { Command } from '../page/page.ts'
import { Scroll } from '../parts/Scroll.tsx'

interface Props {
  commands: readonly Command[]
  onClose: () => void
}

/** Everything the window can do from here, found by typing a word of it. */
export function CommandList({ commands, onClose }: Props) {
  const { contains } = useFilter({ sensitivity: 'base' })
  const groups = [...new Set(commands.map((command) => command.group))]
  const run = (id: string) => {
    onClose()
    commands.find((command) => command.id === id)?.run()
  }
  return (
    <ModalOverlay className="veil veil-top" isOpen isDismissable onOpenChange={(open) => !open && onClose()}>
      <Modal className="commands">
        <Dialog aria-label="Commands">
          <Autocomplete filter={contains}>
            <SearchField aria-label="Search commands" autoFocus className="commands-search">
              <Input placeholder="What do you want to do?" />
            </SearchField>
            <Scroll label="What can be done here" className="commands-scroll">
              <Menu
                className="commands-list"
                aria-label="Commands"
                onAction={(key) => run(String(key))}
                renderEmptyState={() => <p>No such command here.</p>}
              >
                {groups.map((group) => (
                  <MenuSection key={group}>
                    <Header>{group}</Header>
                    {commands
                      .filter((command) => command.group === group)
                      .map((command) => (
                        <MenuItem
                          key={command.id}
                          id={command.id}
                          textValue={command.words}
                          className="commands-item"
                        >
                          <span>{command.words}</span>
                          {command.keys && <kbd>{command.keys}</kbd>}
                        </MenuItem>
                      ))}
                  </MenuSection>
                ))}
              </Menu>
            </Scroll>
          </Autocomplete>
        </Dialog>
      </Modal>
    </ModalOverlay>
  )
}
