import { readFileSync } from 'node:fs'
import { stripTypeScriptTypes } from 'node:module'
import { join } from 'node:path'
import { runInNewContext } from 'node:vm'
import { describe, expect, it } from 'vitest'

const source = stripTypeScriptTypes(
  readFileSync(join(import.meta.dirname, '../../main/desktop/preload.ts'), 'utf8'),
).replace(/import \{ ipcRenderer \} from 'electron'\n/, '')

/** Runs the preload in an empty world and keeps what it did. */
function run() {
  const sent: string[] = []
  const posted: { data: unknown; target: string; ports: unknown[] }[] = []
  const heard: Record<string, (event: { ports: unknown[] }) => void> = {}
  let onMessage: (event: { source: unknown; data: unknown }) => void = () => undefined
  const window = {
    location: { origin: 'stillpoint://window' },
    addEventListener: (_kind: string, listener: typeof onMessage) => {
      onMessage = listener
    },
    postMessage: (data: unknown, target: string, ports: unknown[]) => posted.push({ data, target, ports }),
  }
  const ipcRenderer = {
    send: (channel: string) => sent.push(channel),
    on: (channel: string, listener: (event: { ports: unknown[] }) => void) => {
      heard[channel] = listener
    },
  }
  const world: Record<string, unknown> = { window, ipcRenderer }
  runInNewContext(source, world)
  return {
    sent,
    posted,
    heard,
    window,
    world,
    say: (event: { source: unknown; data: unknown }) => onMessage(event),
  }
}

describe('the preload', () => {
  it('exposes nothing: it adds no name to the page and needs no context bridge', () => {
    const { world, window } = run()
    expect(Object.keys(world).sort()).toEqual(['ipcRenderer', 'window'])
    expect(Object.keys(window).sort()).toEqual(['addEventListener', 'location', 'postMessage'])
    expect(source).not.toContain('contextBridge')
  })

  it('asks for a port only when its own page asks', () => {
    const { say, sent, window } = run()
    say({ source: {}, data: 'stillpoint-ask-port' })
    say({ source: window, data: 'something else' })
    expect(sent).toEqual([])
    say({ source: window, data: 'stillpoint-ask-port' })
    expect(sent).toEqual(['stillpoint-ask-port'])
  })

  it('hands ports to its own origin alone', () => {
    const { heard, posted } = run()
    heard['stillpoint-port']!({ ports: ['port'] })
    expect(posted).toEqual([{ data: 'stillpoint-port', target: 'stillpoint://window', ports: ['port'] }])
  })
})
