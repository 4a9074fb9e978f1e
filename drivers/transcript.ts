import type { Clock } from '../app/base/clock.ts'
import { type AnyInstrument, InstrumentError, type Measured } from '../app/instruments/faces.ts'
import { openInstrument } from './open.ts'
import { type Driver, partsOf } from './profile/library.ts'
import type { TranscriptPart } from './profile/schema.ts'
import { ScriptedPeer } from './profile/scripted-peer.ts'
import { SharedLines } from './profile/shared-lines.ts'

/**
 * Plays a profile's transcript: does each call on the instrument the profile describes, with a peer at the other end that
 * follows the lines. Returns what did not agree, as sentences; none when the transcript holds.
 */
export async function replayTranscript(driver: Driver, clock: Clock): Promise<string[]> {
  const peer = new ScriptedPeer(clock)
  const { profile } = driver
  const lines = new SharedLines()
  const drivers = new Map([driver, ...partsOf(driver)].map((each) => [each.profile.id, each]))
  const make = (id: string) =>
    openInstrument({
      spec: { id, name: profile.title, profile: id, link: { kind: 'tcp', host: 'script', port: 1 } },
      clock,
      profiles: { profiles: drivers, problems: [] },
      random: () => 0.5,
      connect: peer.connect,
      atOnce: true,
      lines,
    })
  const instruments = new Map([...drivers.keys()].map((id) => [id, make(id)]))
  const problems: string[] = []
  for (const [i, part] of profile.transcript.entries()) {
    const where = `transcript ${i + 1} (${part.call}: ${part.doc})`
    peer.expect(part.lines)
    if (part.call !== 'open') await clock.sleep(waitBefore(part.lines))
    const id = part.part === undefined ? profile.id : `${profile.id}/${part.part}`
    const instrument = instruments.get(id)
    const got =
      instrument === undefined ? { error: `there is no part "${part.part}"` } : await call(instrument, part)
    // Lines after the last answer, a greeting after a power cut for example, need a moment to arrive.
    await clock.sleep(1)
    peer.finish(where)
    problems.push(...differences(part.gives, got).map((each) => `${where}: ${each}`))
  }
  problems.push(...peer.problems)
  for (const instrument of instruments.values()) await instrument.close()
  return problems
}

/** Where nothing is asked the caller comes when everything has been said: the waits of the lines and a moment more. */
function waitBefore(lines: readonly string[]): number {
  if (lines.some((line) => line.startsWith('>'))) return 0
  const waits = lines.filter((line) => line.startsWith('wait '))
  return waits.reduce((ms, line) => ms + Number(line.slice(5)), 1)
}

interface Got {
  value?: string | undefined
  row?: readonly string[]
  values?: Record<string, string>
  unit?: string
  marks?: readonly string[]
  error?: string
  serial?: string
  note?: string | undefined
}

async function call(instrument: AnyInstrument, part: TranscriptPart): Promise<Got> {
  try {
    return await callOnce(instrument, part)
  } catch (error) {
    if (error instanceof InstrumentError) return { error: error.code, note: error.message }
    throw error
  }
}

async function callOnce(instrument: AnyInstrument, part: TranscriptPart): Promise<Got> {
  const number = (name: string): number => Number(part.with[name])
  switch (part.call) {
    case 'open':
      return { serial: (await instrument.open()).serial }
    case 'measure':
      if ('measure' in instrument) return got(await instrument.measure(part.with))
      break
    case 'keep-warm':
      if ('keepWarm' in instrument) await instrument.keepWarm?.(number('input'), number('currentMa'))
      return {}
    case 'select':
      if ('select' in instrument) await instrument.select(number('input'))
      return {}
    case 'set-setpoint':
      if ('setSetpoint' in instrument) await instrument.setSetpoint(number('celsius'))
      return {}
    case 'read-setpoint':
      if ('readSetpoint' in instrument) return got(await instrument.readSetpoint())
      break
    case 'read-temperature':
      if ('readTemperature' in instrument) return got(await instrument.readTemperature())
      break
    case 'output':
      if ('setOutput' in instrument) await instrument.setOutput?.(part.with.on === true)
      return {}
    case 'read-all':
      if ('readAll' in instrument) return gotAll(await instrument.readAll())
      break
  }
  return { error: `a ${instrument.role} has no call "${part.call}"` }
}

function got(measured: Measured): Got {
  const row = measured.row?.map(({ value }) => value ?? '')
  return {
    ...(row && { row }),
    value: measured.value,
    unit: measured.unit,
    marks: measured.marks,
    note: measured.note,
  }
}

function gotAll(all: readonly { quantity: string; measured: Measured }[]): Got {
  const values: Record<string, string> = {}
  for (const { quantity, measured } of all)
    if (measured.value !== undefined) values[quantity] = measured.value
  return { values, marks: [...new Set(all.flatMap((each) => each.measured.marks))] }
}

function differences(wanted: TranscriptPart['gives'], got: Got): string[] {
  const found: string[] = []
  const compare = (name: string, want: unknown, have: unknown) => {
    const [w, h] = [JSON.stringify(want), JSON.stringify(have)]
    if (w !== h)
      found.push(`${name} should be ${w}, is ${h}${got.note === undefined ? '' : ` (${got.note})`}`)
  }
  for (const key of ['value', 'row', 'values', 'unit', 'marks', 'serial'] as const) {
    if (wanted[key] !== undefined) compare(key, wanted[key], got[key])
  }
  if (wanted.error !== got.error) compare('error', wanted.error, got.error)
  if (wanted.marks?.length && wanted.value === undefined && got.value !== undefined)
    compare('value', undefined, got.value)
  return found
}
