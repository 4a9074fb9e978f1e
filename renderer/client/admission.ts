/** Tied by the browser to scheme, host and port, unlike a cookie, which every port of the host gets. */
const KEPT = 'stillpoint-key'

/** Refused: why, in words. */
export type Admission = { key: string } | { refusal: string }

/**
 * The page is opened with a token in its fragment, which no server log sees. It is exchanged for this window's key and
 * taken out of the address bar, so that a copied address carries nothing. A key of before is used where there is no token.
 */
export async function admission(): Promise<Admission | undefined> {
  const token = new URLSearchParams(location.hash.slice(1)).get('token')
  if (token === null) {
    const key = localStorage.getItem(KEPT)
    return key === null ? undefined : { key }
  }
  history.replaceState(null, '', location.pathname + location.search)
  const answer = await fetch('/session', {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({ token }),
  })
  if (!answer.ok) return { refusal: (await answer.text()).trim() }
  const { key } = (await answer.json()) as { key: string }
  localStorage.setItem(KEPT, key)
  return { key }
}

/** Signs in at the door of a page that is served beyond the station's own computer. */
export async function signInAtDoor(name: string, password: string): Promise<Admission> {
  const answer = await fetch('/session', {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({ name, password }),
  })
  if (!answer.ok) return { refusal: (await answer.text()).trim() }
  const { key } = (await answer.json()) as { key: string }
  localStorage.setItem(KEPT, key)
  return { key }
}

/** This window's key is worth nothing any more. */
export const forgetKey = (): void => localStorage.removeItem(KEPT)

/** After a refused socket: 'shut out' where the station answers but does not know this window, 'down' where it is gone. */
export async function whyRefused(): Promise<'shut-out' | 'down'> {
  try {
    await fetch('/icon.svg', { method: 'HEAD', cache: 'no-store' })
    return 'shut-out'
  } catch {
    return 'down'
  }
}
