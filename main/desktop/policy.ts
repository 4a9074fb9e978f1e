import type { Session, WebContents, WebPreferences } from 'electron'
import type { ElectronParts } from './parts.ts'

/** Scheme and origin of the built window. Nothing else is ever loaded. */
export const SCHEME = 'stillpoint'
export const ORIGIN = `${SCHEME}://window`

/** Pages that a person may open in the system's browser from the menu; data never chooses an address. */
export const OUTSIDE_PAGES: readonly string[] = [
  'https://www.bipm.org/',
  'https://www.electronjs.org/docs/latest/tutorial/security',
]

export const POLICY = [
  "default-src 'none'",
  "script-src 'self'",
  "style-src 'self' 'unsafe-inline'",
  "img-src 'self' data: blob:",
  "font-src 'self'",
  "connect-src 'self'",
  "frame-src 'self' blob:",
  "base-uri 'none'",
  "form-action 'none'",
  "frame-ancestors 'none'",
].join('; ')

/** Every preference that bears on safety is written out, also where it is the default. */
export function webPreferences(preload: string, packaged: boolean): WebPreferences {
  return {
    preload,
    sandbox: true,
    contextIsolation: true,
    nodeIntegration: false,
    nodeIntegrationInWorker: false,
    nodeIntegrationInSubFrames: false,
    webSecurity: true,
    allowRunningInsecureContent: false,
    experimentalFeatures: false,
    webviewTag: false,
    navigateOnDragDrop: false,
    spellcheck: false,
    devTools: !packaged && process.env.STILLPOINT_DEVTOOLS === '1',
  }
}

/** Whether an address belongs to the built window. */
export function isOwn(address: string): boolean {
  return (
    URL.canParse(address) && new URL(address).protocol === `${SCHEME}:` && new URL(address).host === 'window'
  )
}

/** Denies what the window never needs: permissions, foreign navigation, new windows, webviews, downloads by the page itself. */
export function harden(electron: ElectronParts, log: (words: string) => void): void {
  electron.app.on('web-contents-created', (_event, contents) => hardenContents(contents, log))
  electron.app.on('session-created', (created) => hardenSession(created, log))
}

export function hardenSession(session: Session, log: (words: string) => void): void {
  session.setPermissionRequestHandler((_contents, permission, callback) => {
    log(`refused permission ${permission}`)
    callback(false)
  })
  session.setPermissionCheckHandler(() => false)
  session.setDevicePermissionHandler(() => false)
  session.webRequest.onBeforeRequest((details, callback) => {
    const allowed =
      isOwn(details.url) ||
      details.url.startsWith('blob:') ||
      details.url.startsWith('data:') ||
      details.url.startsWith('devtools:')
    if (!allowed) log(`refused to load ${new URL(details.url).origin}`)
    callback({ cancel: !allowed })
  })
}

export function hardenContents(contents: WebContents, log: (words: string) => void): void {
  contents.on('will-navigate', (event) => {
    if (isOwn(event.url)) return
    event.preventDefault()
    log('refused to navigate away')
  })
  contents.on('will-redirect', (event) => {
    if (!isOwn(event.url)) event.preventDefault()
  })
  contents.on('will-frame-navigate', (event) => {
    if (!isOwn(event.url) && event.url !== 'about:srcdoc' && !event.url.startsWith('blob:'))
      event.preventDefault()
  })
  contents.on('will-attach-webview', (event) => {
    event.preventDefault()
    log('refused a webview')
  })
  contents.setWindowOpenHandler(() => {
    log('refused to open a window')
    return { action: 'deny' }
  })
}
