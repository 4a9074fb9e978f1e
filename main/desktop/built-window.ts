import { loadBuiltPage } from '../host/page/files.ts'
import type { ElectronParts } from './parts.ts'
import { ORIGIN, POLICY, SCHEME } from './policy.ts'

/** Must run before the app is ready: gives the scheme the rights of a secure page, and no more. */
export function declareScheme(electron: ElectronParts): void {
  electron.protocol.registerSchemesAsPrivileged([
    { scheme: SCHEME, privileges: { standard: true, secure: true, supportFetchAPI: true, codeCache: true } },
  ])
}

/** Answers the scheme from the built window, read whole at the start: no path leads anywhere else. */
export function serveBuiltWindow(electron: ElectronParts, folder: string): void {
  const files = loadBuiltPage(folder)
  electron.protocol.handle(SCHEME, (request) => {
    const address = new URL(request.url)
    const file =
      `${address.protocol}//${address.host}` === ORIGIN && request.method === 'GET'
        ? files.get(address.pathname)
        : undefined
    if (!file)
      return new Response('There is nothing here.', {
        status: 404,
        headers: { 'Content-Security-Policy': POLICY },
      })
    return new Response(new Uint8Array(file.body), {
      headers: {
        'Content-Type': file.type,
        'Content-Security-Policy': POLICY,
        'X-Content-Type-Options': 'nosniff',
      },
    })
  })
}
