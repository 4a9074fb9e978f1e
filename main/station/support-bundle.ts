import { existsSync, lstatSync, readdirSync, readFileSync } from 'node:fs'
import { arch, cpus, freemem, platform, release, totalmem } from 'node:os'
import { join } from 'node:path'
import { gzipSync } from 'node:zlib'
import { isoUtc } from '../../app/base/clock.ts'
import { lookAtFolder } from '../store/look-at-folder.ts'
import type { StationStore } from '../store/station-store.ts'
import { logFolder } from './log.ts'
import type { Station } from './station.ts'

const LOG_LINES = 5_000
const TRAFFIC_LINES = 1_000
/** Keys whose values never leave the computer. */
const SECRET_KEY = /pass(word)?$|secret|token|authori[sz]ation|credential|^user$/i
/** Tokens and user:password parts inside texts. */
const SECRET_IN_TEXT: readonly [RegExp, string][] = [
  [
    /([?&#;\s](?:[\w.%-]*(?:pass(?:word|wd|phrase)?|pwd|secret|token|key|auth|sig(?:nature)?))=)[^&\s"']+/gi,
    '$1(left out)',
  ],
  [/(\b[a-z][a-z0-9+.-]*:\/\/)[^/@\s"']+@/gi, '$1(left out)@'],
  [/(bearer\s+)[A-Za-z0-9._~+/=-]+/gi, '$1(left out)'],
]

/**
 * What somebody who helps needs to see, as one gzipped JSON file: versions, bench, links, state, alarms, the end of the
 * log and of the traffic. No secret is in it: passwords and tokens are left out, webhook addresses keep their host only.
 */
export function supportBundle(station: Station, store: StationStore): Uint8Array {
  const { utcUs, program, runner, group, links, alarms, disk, session } = station.state()
  const rules = store.alarmRules()
  const content = {
    made: isoUtc(utcUs),
    program,
    ...machine(),
    memory: process.memoryUsage(),
    bench: station.bench ?? null,
    session,
    runner,
    group,
    links,
    alarms,
    disk,
    settings: store.settings() ?? null,
    alarmRules: { ...rules, webhook: rules.webhook && { url: hostOnly(rules.webhook.url) } },
    sessions: store.sessions('', 50).map((row) => ({
      id: row.info.id,
      ending: row.info.ending,
      endingReason: row.info.endingReason,
      readings: row.readings,
      bytes: row.bytes,
      damaged: row.damaged,
    })),
    traffic: station.links.traffic.recent(TRAFFIC_LINES),
    log: lastLogLines(store.folder),
  }
  return packed(content)
}

/**
 * The same as far as a data folder alone tells it, for a station that does not start: what lies there, what station.db
 * and each session say when they are opened, and the end of the log.
 */
export function bundleOfFolder(folder: string, program: string): Uint8Array {
  const there = existsSync(folder)
  const content = {
    made: new Date().toISOString(),
    program,
    ...machine(),
    there,
    files: there
      ? readdirSync(folder, { withFileTypes: true }).map((entry) => {
          const { size, mode } = lstatSync(join(folder, entry.name))
          return { name: entry.name, bytes: entry.isFile() ? size : null, mode: (mode & 0o777).toString(8) }
        })
      : [],
    ...(there && lookAtFolder(folder)),
    log: lastLogLines(folder),
  }
  return packed(content)
}

/** Indented by one space, so that a person reads it as it is. */
const packed = (content: object) => gzipSync(JSON.stringify(withoutSecrets(content), null, ' '))

function machine() {
  return {
    node: process.version,
    system: {
      platform: platform(),
      release: release(),
      arch: arch(),
      processors: cpus().length,
      memoryMb: Math.round(totalmem() / 1e6),
      freeMb: Math.round(freemem() / 1e6),
    },
  }
}

function hostOnly(url: string): string {
  try {
    return new URL(url).host
  } catch {
    return '(not an address)'
  }
}

function lastLogLines(folder: string): string[] {
  const place = logFolder(folder)
  let names: string[]
  try {
    names = readdirSync(place).filter((name) => name.endsWith('.log'))
  } catch {
    // No log was kept in this folder.
    return []
  }
  const lines = names
    .sort((a, b) => a.localeCompare(b, 'en', { numeric: true }))
    .flatMap((name) => readFileSync(join(place, name), 'utf8').split('\n'))
    .filter((line) => line !== '')
  return lines.slice(-LOG_LINES)
}

/** A copy in which secrets are left out, at any depth. */
export function withoutSecrets(value: unknown): unknown {
  if (typeof value === 'string') {
    return SECRET_IN_TEXT.reduce((text, [pattern, put]) => text.replace(pattern, put), value)
  }
  if (Array.isArray(value)) return value.map(withoutSecrets)
  if (typeof value !== 'object' || value === null) return value
  return Object.fromEntries(
    Object.entries(value).map(([key, inner]) => [
      key,
      SECRET_KEY.test(key) && typeof inner === 'string' ? '(left out)' : withoutSecrets(inner),
    ]),
  )
}
