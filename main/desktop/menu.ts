import type { MenuItemConstructorOptions } from 'electron'
import type { ElectronParts } from './parts.ts'
import { OUTSIDE_PAGES } from './policy.ts'
import type { SecretName } from './secrets.ts'

export interface MenuActions {
  /** Goes to a place of the window, by its number key. */
  goTo: (key: string) => void
  commands: () => void
  wall: () => void
  keepPassword: (name: SecretName) => void
  openFolder: () => void
  /** Whether the program starts with the system, and to change it. */
  startsWithSystem: boolean
  startWithSystem: (on: boolean) => void
  quit: () => void
}

const PLACES = ['Bench', 'Watch', 'Plan', 'Points', 'Archive', 'Register', 'Wire']

/** The menu holds our own commands and those text fields need; it never reloads or opens developer tools. */
export function buildMenu(electron: ElectronParts, actions: MenuActions): void {
  const template: MenuItemConstructorOptions[] = [
    {
      label: 'Station',
      submenu: [
        { label: 'All commands...', accelerator: 'CmdOrCtrl+K', click: actions.commands },
        { label: 'Open another data folder...', click: actions.openFolder },
        {
          label: 'Keep copied text as mail password...',
          click: () => actions.keepPassword('smtp-password'),
        },
        {
          label: 'Keep copied text as password of the signing key...',
          click: () => actions.keepPassword('key-password'),
        },
        {
          label: 'Start with the system',
          type: 'checkbox',
          checked: actions.startsWithSystem,
          click: (item) => actions.startWithSystem(item.checked),
        },
        { type: 'separator' },
        { label: 'Quit', accelerator: 'CmdOrCtrl+Q', click: actions.quit },
      ],
    },
    {
      label: 'Edit',
      submenu: [
        { role: 'undo' },
        { role: 'redo' },
        { type: 'separator' },
        { role: 'cut' },
        { role: 'copy' },
        { role: 'paste' },
        { role: 'selectAll' },
      ],
    },
    {
      label: 'Places',
      submenu: [
        ...PLACES.map(
          (label, i): MenuItemConstructorOptions => ({
            label,
            accelerator: `CmdOrCtrl+${i + 1}`,
            click: () => actions.goTo(String(i + 1)),
          }),
        ),
        { type: 'separator' },
        { label: 'Wall view', accelerator: 'F11', click: actions.wall },
        { role: 'zoomIn' },
        { role: 'zoomOut' },
        { role: 'resetZoom' },
      ],
    },
    {
      label: 'Help',
      submenu: OUTSIDE_PAGES.map(
        (page): MenuItemConstructorOptions => ({
          label: new URL(page).host,
          click: () => void electron.shell.openExternal(page),
        }),
      ),
    },
  ]
  electron.Menu.setApplicationMenu(electron.Menu.buildFromTemplate(template))
}
