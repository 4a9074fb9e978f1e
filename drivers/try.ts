import type { Clock } from '../app/base/clock.ts'
import {
  type AnyInstrument,
  InstrumentError,
  type Measured,
  type TrafficLine,
} from '../app/instruments/faces.ts'
import { asTold, said } from '../app/messages/said.ts'
import type { LinkSpec } from '../app/records/bench.ts'
import { isExcluded, MARKS, type Mark } from '../app/records/mark.ts'
import { shortForm } from './language/headers.ts'
import { openInstrument } from './open.ts'
import { undress } from './profile/dress.ts'
import { type Driver, partsOf } from './profile/library.ts'
import { compileAnswer } from './profile/reply.ts'
import type { Command, Profile } from './profile/schema.ts'
import { commandsIn } from './profile/schema-steps.ts'
import { SharedLines } from './profile/shared-lines.ts'

/** One thing tried on the real instrument. */
export interface Attempt {
  readonly what: string
  /** `no value`: it answered, and said that it has none to give, as of an input with nothing on it. */
  readonly outcome: 'worked' | 'no value' | 'failed' | 'skipped'
  /** The answer, or what went wrong, or why it was skipped. */
  readonly words: string
}

export interface TryOptions {
  readonly driver: Driver
  readonly link: LinkSpec
  readonly clock: Clock
  /** Also tries what changes settings (inputs, currents, averaging); heat is never switched. */
  readonly settings: boolean
  /** Told of each attempt as it ends, and of the traffic. */
  readonly onAttempt?: (attempt: Attempt) => void
  readonly onTraffic?: (line: TrafficLine) => void
}

/** Walks through all a profile describes on the real instrument, harmless things first, and tells what worked. */
export async function tryProfile(options: TryOptions): Promise<Attempt[]> {
  const { driver, link, clock, settings, onAttempt } = options
  const { profile } = driver
  const attempts: Attempt[] = []
  const lines = new SharedLines()
  const drivers = new Map([driver, ...partsOf(driver)].map((each) => [each.profile.id, each]))
  const [instrument, ...parts] = [...drivers.values()].map((each) =>
    openInstrument({
      spec: { id: each.profile.id, name: each.profile.title, profile: each.profile.id, link },
      clock,
      profiles: { profiles: drivers, problems: [] },
      lines,
    }),
  ) as [AnyInstrument, ...AnyInstrument[]]
  const traffic = options.onTraffic === undefined ? undefined : instrument.onTraffic(options.onTraffic)
  const note = (attempt: Attempt) => {
    attempts.push(attempt)
    onAttempt?.(attempt)
  }
  try {
    const opened = await attempt('open and identify', async () => {
      const { maker, model, serial, firmware } = await instrument.open()
      return [maker, model, serial, firmware].filter((part) => part !== '').join(' ')
    })
    note(opened)
    if (opened.outcome === 'worked') {
      // What is a step of several makes sense in its place only; it is tried with its capability.
      const steps = new Set(
        [...drivers.values()]
          .flatMap((each) => Object.values(each.profile.capabilities))
          .flatMap((list) => (list.length > 1 || typeof list[0] !== 'string' ? commandsIn(list) : [])),
      )
      for (const [name, command] of Object.entries(profile.commands)) {
        if (steps.has(name)) continue
        if (command.risk !== 'read-only' || command.send.includes('{') || command.poll !== undefined) continue
        const line = profile.language === 'scpi' ? shortForm(command.send) : command.send
        note(
          await attempt(`${name} (${line})`, async () =>
            believed(await instrument.converse(line), command, profile),
          ),
        )
      }
      const ofParts = parts.flatMap((part) => capabilitiesOf(part).map((walk) => named(part, walk)))
      for (const [what, work, changes] of [...capabilitiesOf(instrument), ...ofParts]) {
        if (changes && !settings)
          note({ what, outcome: 'skipped', words: 'changes settings, so it is left out of this try' })
        else note(await attempt(what, work))
      }
    }
  } finally {
    traffic?.dispose()
    for (const each of [...parts, instrument]) await each.close()
  }
  return attempts
}

type Walk = readonly [what: string, work: () => Promise<string>, changes: boolean]

/** A part's walk under its name, so that it is told from the same of the main instrument. */
const named = ({ profile }: AnyInstrument, [what, work, changes]: Walk): Walk => [
  `${profile.slice(profile.indexOf('/') + 1)}: ${what}`,
  work,
  changes,
]

/** What is tried of each role. A setpoint is set to what it is already, so that no bath moves. */
function capabilitiesOf(instrument: AnyInstrument): Walk[] {
  switch (instrument.role) {
    case 'ratio-bridge':
    case 'meter': {
      const { keepWarm } = instrument
      return [
        ['measure', async () => tell(await instrument.measure({})), false],
        ...(instrument.ranges ?? []).map(
          (range): Walk => [
            `measure in the range ${range}`,
            async () => tell(await instrument.measure({ range })),
            true,
          ],
        ),
        ...inputsOf(instrument.inputs).map(
          (input): Walk => [
            `measure input ${input}`,
            async () => tell(await instrument.measure({ input })),
            true,
          ],
        ),
        ...(keepWarm === undefined
          ? []
          : [['keep-warm current of input 1: none', () => keepWarm(1, 0).then(() => 'taken'), true] as Walk]),
      ]
    }
    case 'scanner': {
      const { keepWarm } = instrument
      return [
        ...inputsOf(instrument.inputs).map(
          (input): Walk => [
            `select input ${input}`,
            () => instrument.select(input).then(() => 'connected'),
            true,
          ],
        ),
        ...(keepWarm === undefined
          ? []
          : [['keep-warm current of input 1: none', () => keepWarm(1, 0).then(() => 'taken'), true] as Walk]),
      ]
    }
    case 'bath':
      return [
        ['read setpoint', async () => tell(await instrument.readSetpoint()), false],
        ['read temperature', async () => tell(await instrument.readTemperature()), false],
        [
          'set the setpoint to what it is',
          async () => {
            const now = await instrument.readSetpoint()
            if (now.value === undefined)
              throw new InstrumentError('garbled', instrument.id, said('setpoint-unreadable', {}))
            await instrument.setSetpoint(Number(now.value))
            return 'confirmed'
          },
          true,
        ],
      ]
    case 'environment':
      return [
        [
          'read all',
          async () =>
            (await instrument.readAll()).map((each) => `${each.quantity} ${tell(each.measured)}`).join(', '),
          false,
        ],
      ]
  }
}

/** The first, second and last input stand for all. */
function inputsOf(count: number): number[] {
  return [...new Set([1, Math.min(2, count), count])]
}

/** It answered as it should, and the answer is that there is no value. */
class NoValue extends Error {}

/** What an instrument says in place of a value; everything else that excludes a reading is a fault of the answer. */
const SPECIALS: readonly Mark[] = ['over-range', 'under-range', 'not-a-number']

/** A value that would be believed; throws where the reading is marked as one that does not count, or has no number. */
function tell({ value, unit, marks, note, raw }: Measured): string {
  if (value !== undefined && !isExcluded(marks)) return `${value} ${unit}`
  const words = marks.map((mark) => MARKS[mark].words).join(', ')
  if (marks.some((mark) => SPECIALS.includes(mark))) throw new NoValue(`"${raw}": ${words}`)
  throw new InstrumentError(
    'garbled',
    '',
    said('value-not-believable', { raw, note: note ?? (words || 'no number') }),
  )
}

/** What an answer says by the command's own rule; throws where the rule rejects it. */
function believed(reply: string | undefined, { answer }: Command, profile: Profile): string {
  const shell = reply === undefined ? { text: '' } : undress(reply, profile)
  if ('wrong' in shell) throw new InstrumentError('garbled', '', asTold(shell.wrong))
  const read = compileAnswer(answer)(shell.text)
  if (read.kind === 'unreadable') throw new InstrumentError('garbled', '', asTold(read.words))
  if (read.kind === 'value' && read.value === undefined)
    throw new NoValue(`"${shell.text}": ${read.marks.map((mark) => MARKS[mark].words).join(', ')}`)
  return shell.text === '' ? 'no answer, as expected' : shell.text
}

async function attempt(what: string, work: () => Promise<string>): Promise<Attempt> {
  try {
    return { what, outcome: 'worked', words: await work() }
  } catch (error) {
    if (error instanceof NoValue) return { what, outcome: 'no value', words: error.message }
    if (error instanceof InstrumentError) return { what, outcome: 'failed', words: error.message }
    throw error
  }
}
