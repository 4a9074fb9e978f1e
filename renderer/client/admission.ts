/**
 * The page is opened with a key in its fragment, which no server log sees. It is exchanged for a cookie and taken out
 * of the address bar, so that a copied address carries no key.
 */
export async function exchangeKey(): Promise<string | undefined> {
  const token = new URLSearchParams(location.hash.slice(1)).get('token')
  if (token === null) return undefined
  history.replaceState(null, '', location.pathname + location.search)
  const answer = await fetch('/session', {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({ token }),
  })
  return answer.ok ? undefined : (await answer.text()).trim()
}

/** After a refused socket: 'shut out' where the station answers but does not know this window, 'down' where it is gone. */
export async function whyRefused(): Promise<'shut-out' | 'down'> {
  try {
    await fetch('/icon.svg', { method: 'HEAD', cache: 'no-store' })
    return 'shut-out'
  } catch {
    return 'down'
  }
}
