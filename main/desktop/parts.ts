import type * as Electron from 'electron'

/** What the shell needs of Electron. Handed in, so that tests run the same shell on a stand-in with real Chromium pages. */
export type ElectronParts = Pick<
  typeof Electron,
  | 'app'
  | 'BrowserWindow'
  | 'clipboard'
  | 'Menu'
  | 'MessageChannelMain'
  | 'Notification'
  | 'Tray'
  | 'dialog'
  | 'ipcMain'
  | 'nativeImage'
  | 'powerMonitor'
  | 'powerSaveBlocker'
  | 'protocol'
  | 'safeStorage'
  | 'session'
  | 'shell'
  | 'utilityProcess'
>
