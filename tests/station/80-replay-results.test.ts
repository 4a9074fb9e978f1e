import { execFile } from 'node:child_process'
import { mkdirSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { promisify } from 'node:util'
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest'
import { buildChains } from '../../app/live/chain.ts'
import { eventOf } from '../../app/messages/said.ts'
import { isExcluded } from '../../app/records/mark.ts'
import { Register } from '../../app/records/register.ts'
import { signedNumbers } from '../../app/report/proof.ts'
import { prepare } from '../../app/thermometry/convert.ts'
import { openSessionFile, type SessionFile } from '../../main/store/session-file.ts'
import { archiveRowOf } from '../../main/store/session-list.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { takeRecordsOfNow } from '../../main/study/amend-session.ts'
import { compareWithNow, recomputed } from '../../main/study/compare-results.ts'
import { readingsIn } from '../../main/study/report/point-readings.ts'
import { proveSession } from '../../main/study/report/prove.ts'
import { rebuildPoint, sessionChains } from '../../main/study/report/session-content.ts'
import { exampleClock } from '../store/example-data.ts'
import { planOf } from './box.ts'
import { type Recorded, recordNight } from './replay-night.ts'

const CLI = join(import.meta.dirname, '../../main/host/cli.ts')

// Each works a whole night out again, some of them twice.
vi.setConfig({ testTimeout: 120_000 })

let night: Recorded
let file: SessionFile

beforeAll(async () => {
  const plan = planOf([15, 45, 75])
  const setpoints = plan.setpoints.map((s, i) => ({ ...s, selfHeating: i > 0 }))
  night = await recordNight({ ...plan, setpoints }, { scenario: 'demo' })
  file = openSessionFile(night.path, { mode: 'read' })
  expect(file.points()).toHaveLength(3)
}, 120_000)

afterAll(() => {
  file.close()
  rmSync(night.folder, { recursive: true })
})

const recordsOf = () => structuredClone(file.setup.register)

function withReference(change: (reference: Register['thermometers'][number]) => void): Register {
  const register = recordsOf()
  change(register.thermometers.find((t) => t.id === 'sprt-0147')!)
  return register
}

/** R(WTP) in force made larger by a part of itself. */
const withRWtp = (part: number) =>
  withReference((reference) => {
    const entry = reference.wtpHistory.at(-1)!
    entry.ohm = (Number(entry.ohm) * (1 + part)).toPrecision(15)
  })

const withResistor = (part: number): Register => {
  const register = recordsOf()
  const calibration = register.resistors.find((r) => r.id === 'resistor-100')!.calibrations[0]!
  calibration.ohm = (Number(calibration.ohm) * (1 + part)).toPrecision(16)
  return register
}

const withCoefficientA = (more: number) =>
  withReference((reference) => {
    const { conversion } = reference.calibrations[0]!
    if (conversion.kind !== 'its90') throw new TypeError('the reference has an ITS-90 calibration')
    conversion.coefficients = {
      ...conversion.coefficients,
      a: (Number(conversion.coefficients.a) + more).toPrecision(15),
    }
  })

/** The reference's conversion as it was, its temperature and zero-current resistance at a point. */
function referenceAt(point: string) {
  const chain = sessionChains(file).get('ref')!
  const conversion = chain.calibration!.conversion
  const prepared = prepare(conversion.kind === 'its90' ? { ...conversion, rWtp: chain.wtp!.ohm } : conversion)
  const celsius = numbersThen[`prt-a.point.${point}.t90`]!.exact
  const { value: ohm, dValueDInput: slope } = prepared.toSignal(celsius)
  return { celsius, ohm, slope, w: ohm / Number(chain.wtp!.ohm), rWtp: Number(chain.wtp!.ohm) }
}

let numbersThen: ReturnType<typeof recomputed>['numbers']
const POINTS = ['point-1', 'point-2', 'point-3']

describe('compareWithNow', () => {
  beforeAll(() => {
    numbersThen = recomputed(file, file.setup.register).numbers
  })

  it('gives every line bit for bit the same where no record has changed', () => {
    const { words, lines } = compareWithNow(file, recordsOf())
    expect(words).toContain('the same numbers')
    expect(lines.length).toBeGreaterThan(300)
    expect(lines.filter((line) => line.changed)).toEqual([])
    expect(new Set(lines.map((line) => line.difference))).toEqual(new Set(['0']))
  })

  it('makes points with self-heating pairs again from the very readings of the pairs', () => {
    const chains = sessionChains(file)
    for (const point of file.points()) {
      expect(rebuildPoint(file, chains, point)).toEqual(point)
      const named = point.readings!.filter(({ part }) => part === 'pair')
      const paired = point.id === 'point-1' ? [] : point.channels.map((c) => c.channel)
      expect(named.map(({ channel }) => channel).toSorted()).toEqual(paired.toSorted())
      for (const list of named) {
        const counted = readingsIn(file, [list], 'pair').filter((r) => !isExcluded(r.marks))
        const low = counted[0]!.currentMa!
        const currents = counted.map((r) => (r.currentMa! > 1.2 * low ? 'high' : 'low'))
        // Four pairs of six at each current, of which a suspected spike does not count; companions are read at the low one.
        expect(currents.join(' ')).toMatch(/^(low ){4,}(high ){8,12}(low ){8,}(high ){8,12}low( low){3,}$/)
        expect(Math.max(...counted.map((r) => r.currentMa!)) / low).toBeCloseTo(Math.SQRT2, 12)
      }
    }
  })

  it('proves the points and the report of a night with self-heating pairs', () => {
    expect(proveSession(file, null).pointDifferences).toEqual([])
  })

  it('moves the reference by -R (dt/dR) dR(WTP)/R(WTP), and nothing that is only resistance, for another R(WTP)', () => {
    const part = 4e-6
    const register = withRWtp(part)
    const now = recomputed(file, register).numbers
    for (const point of POINTS) {
      const { ohm, slope } = referenceAt(point)
      const moved = now[`prt-a.point.${point}.t90`]!.exact - numbersThen[`prt-a.point.${point}.t90`]!.exact
      // W falls by the part that R(WTP) rises; second order and the slope's own change are 1e-5 of it.
      expect(moved / ((-part * ohm) / slope)).toBeCloseTo(1, 4)
      const then = numbersThen[`prt-a.point.${point}.signal`]!.exact
      expect(Math.abs(now[`prt-a.point.${point}.signal`]!.exact / then - 1)).toBeLessThan(1e-9)
    }
    const { words, lines } = compareWithNow(file, register)
    expect(words).toMatch(/^Changed since: Reference SPRT\. \d+ of \d+ numbers change\.$/)
    const line = lines.find(({ key }) => key === 'prt-a.point.point-2.t90')!
    expect(
      Number(line.difference) / ((-part * referenceAt('point-2').ohm) / referenceAt('point-2').slope),
    ).toBeCloseTo(1, 2)
  })

  it('scales every resistance with its resistor, and moves the reference by R (dt/dR) dRs/Rs', () => {
    const part = 10e-6
    const now = recomputed(file, withResistor(part)).numbers
    for (const point of POINTS) {
      const { ohm, slope } = referenceAt(point)
      const key = `prt-a.point.${point}`
      expect((now[`${key}.signal`]!.exact / numbersThen[`${key}.signal`]!.exact - 1) / part).toBeCloseTo(1, 4)
      const moved = now[`${key}.t90`]!.exact - numbersThen[`${key}.t90`]!.exact
      expect(moved / ((part * ohm) / slope)).toBeCloseTo(1, 4)
      // The thermistor hangs on another resistor: only how far the bath moved during its pairs is told by this one.
      const other = `thermistor.point.${point}.signal`
      expect(Math.abs(now[other]!.exact / numbersThen[other]!.exact - 1)).toBeLessThan(1e-8)
    }
  })

  it('moves the reference by -da (W - 1) / (dW/dt) for another coefficient a', () => {
    const more = 2e-6
    const now = recomputed(file, withCoefficientA(more)).numbers
    for (const point of POINTS) {
      const { w, slope, rWtp } = referenceAt(point)
      const moved = now[`prt-a.point.${point}.t90`]!.exact - numbersThen[`prt-a.point.${point}.t90`]!.exact
      // The deviation function's own slope is 1e-4 of the whole.
      expect(moved / ((-more * (w - 1)) / (slope / rWtp))).toBeCloseTo(1, 3)
    }
  })

  it('takes a changed calibration through the self-heating pairs as well', () => {
    const chains = buildChains({ bench: file.setup.bench, register: withRWtp(4e-6), date: '2026-03-01' })
    for (const point of file.points().slice(1)) {
      const then = point.channels.find((c) => c.channel === 'ref')!
      const now = rebuildPoint(file, chains, point)!.channels.find((c) => c.channel === 'ref')!
      // The slope in use brings the bath's movement during the pairs into ohm: a part in 1e6 of it.
      expect(Math.abs(now.signalZeroCurrent! / then.signalZeroCurrent! - 1)).toBeLessThan(1e-11)
      expect(now.t90C).toBe(chains.get('ref')!.celsiusOfSignal(now.signalZeroCurrent!, 0))
      expect(now.t90C).not.toBe(then.t90C)
      expect(now.selfHeatingMk! / then.selfHeatingMk!).toBeCloseTo(1, 4)
      expect(now.selfHeatingMk).not.toBe(then.selfHeatingMk)
    }
  })

  it('keeps left out what a person has left out', () => {
    const path = join(night.folder, 'amended.stillpoint')
    file.database.prepare('VACUUM INTO ?').run(path)
    const amended = openSessionFile(path, { mode: 'write', clock: exampleClock() })
    try {
      const { firstSeq } = amended.points()[0]!.channels.find((c) => c.channel === 'prt-a')!
      amended.amend({
        target: { what: 'readings', channel: 'prt-a', fromSeq: firstSeq, toSeq: firstSeq },
        who: 'A. Person',
        why: 'the lid was open',
      })
      const { lines } = compareWithNow(amended, amended.setup.register)
      expect(lines.filter((line) => line.changed)).toEqual([])
      const again = recomputed(amended, amended.setup.register).numbers
      const key = 'prt-a.point.point-1.signal'
      expect(again[key]!.exact).not.toBe(numbersThen[key]!.exact)
      expect(again['prt-b.point.point-1.signal']!.exact).toBe(
        numbersThen['prt-b.point.point-1.signal']!.exact,
      )
    } finally {
      amended.close()
    }
  })

  it('says in words where the records of now give no results, or the session has none', () => {
    const bare = withReference((reference) => {
      reference.calibrations = []
    })
    const { words, lines } = compareWithNow(file, bare)
    expect(words).toMatch(/No results now: .*no calibration in force/)
    const of = lines.filter(({ key }) => key.startsWith('prt-a.'))
    expect(of.length).toBeGreaterThan(50)
    expect(new Set(of.map((line) => line.difference))).toEqual(new Set(['is no longer there']))
  })

  it('finds other moments of settling, in the same waits, with coefficients that are off', () => {
    // A part in a thousand is two tenths of a kelvin at the setpoints: the band is left.
    const { lines } = compareWithNow(file, withResistor(1e-3))
    const settled = lines.filter(({ key }) => key.startsWith('settled.'))
    expect(settled).toHaveLength(3)
    expect(settled.every((line) => line.changed && line.new === 'not settled')).toBe(true)
  })
})

describe('takeRecordsOfNow', () => {
  it('makes a new version of a signed report, as it would have been with the right value, and keeps the readings', () => {
    const data = join(night.folder, 'amended-data')
    mkdirSync(data)
    const store = openStationStore(data, { clock: exampleClock() })
    const right = withResistor(1e-5)
    for (const entry of right.thermometers) store.saveThermometer(entry, 'test', '')
    for (const entry of right.resistors) store.saveResistor(entry, 'test', '')
    const path = join(night.folder, 'corrected.stillpoint')
    file.database.prepare('VACUUM INTO ?').run(path)
    const session = openSessionFile(path, { mode: 'write', clock: exampleClock() })
    try {
      const before = session.readingCount
      const first = proveSession(session, null)
      session.signOff({ who: 'C. Hale', facts: { report: signedNumbers(first.report) } })
      const act = { who: 'C. Hale', why: 'its certificate was misread' }
      const take = () =>
        takeRecordsOfNow(store, session, act, (event) =>
          session.commit({
            events: [{ ...eventOf(event), utcUs: session.info.endedUtcUs!, monoUs: 2 ** 42 }],
          }),
        )
      expect(archiveRowOf(session).signedOffBy).toBe('C. Hale')
      expect(take()).toContain('names the one it replaces')
      // What stands now is a draft, for somebody to sign.
      expect(archiveRowOf(session).signedOffBy).toBeNull()

      const second = proveSession(session, null)
      expect(second.same).toBe(true)
      expect(second.report.version).toBe(2)
      expect(JSON.stringify(second.report.blocks)).toContain('its certificate was misread')
      const expected = recomputed(file, right).numbers
      const exact = (numbers: typeof expected) =>
        Object.fromEntries(Object.entries(numbers).map(([key, n]) => [key, n.exact]))
      expect(exact(second.report.numbers)).toEqual(exact(expected))
      expect(exact(second.report.numbers)).not.toEqual(exact(first.report.numbers))
      expect(session.readingCount).toBe(before)
      expect(session.setup).toEqual(file.setup)

      expect(compareWithNow(session, store.register()).lines.filter((line) => line.changed)).toEqual([])
      expect(take).toThrow('No record of this session has changed since')
      expect(store.ledger({ most: 1 })[0]).toMatchObject({ what: 'session amended', why: act.why })
    } finally {
      session.close()
      store.close()
    }
  })
})

describe('replayCommand', () => {
  const run = async (args: readonly string[], input = '') => {
    const child = promisify(execFile)(process.execPath, [CLI, 'replay', ...args], { maxBuffer: 1e8 })
    child.child.stdin!.end(input)
    return child.then(
      ({ stdout, stderr }) => ({ code: 0, stdout, stderr }),
      (fault: { code: number; stdout: string; stderr: string }) => fault,
    )
  }

  it('tells setpoints, settling, points and the end in order, and ends with a comparison that finds nothing', async () => {
    const { code, stdout } = await run([night.path])
    expect(code).toBe(0)
    const lines = stdout.trimEnd().split('\n')
    const times = lines.map((line) => line.slice(0, 20)).filter((text) => /^\d{4}-/.test(text))
    expect(times).toEqual([...times].sort())
    const kinds = lines.map((line) => line.slice(22).split(/\s/)[0])
    for (const kind of ['opened', 'setpoint', 'replayed', 'settled', 'point', 'closed'])
      expect(kinds).toContain(kind)
    expect(stdout.match(/the record says the same/g)).toHaveLength(3)
    expect(lines.at(-1)).toMatch(/^\d+ lines compared: the same, digit by digit\.$/)
  })

  it('takes the coefficients of now from a register in a file, unless those of then are asked for', async () => {
    const register = join(night.folder, 'register.json')
    writeFileSync(register, JSON.stringify(withRWtp(4e-6)))
    const json = await run([night.path, '--register', register, '--json'])
    const told = JSON.parse(json.stdout)
    expect(told).toMatchObject({ session: night.id, coefficients: 'now', changed: ['Reference SPRT'] })
    expect(told.waits).toHaveLength(3)
    expect(told.comparison.lines.some((line: { changed: boolean }) => line.changed)).toBe(true)
    const then = await run([night.path, '--register', register, '--coefficients', 'then', '--json'])
    expect(JSON.parse(then.stdout)).toMatchObject({ coefficients: 'then', changed: [] })
  })

  it('takes them from the register of a data folder', async () => {
    const data = join(night.folder, 'data')
    mkdirSync(data)
    const store = openStationStore(data, { clock: exampleClock() })
    for (const entry of withResistor(10e-6).resistors) store.saveResistor(entry, 'A. Person', 'typed wrong')
    store.close()
    const { code, stdout } = await run([night.path, '--data', data, '--coefficients', 'now', '--all'])
    expect(code).toBe(0)
    expect(stdout).toContain('Changed since: Reference resistor 100 ohm.')
    expect(stdout).toMatch(/Industrial PRT A: R0 +[\d.]+ +[\d.]+ +-?[\d.e-]+ +Ω/)
  })

  it('goes reading by reading at the pace of its standard input', async () => {
    const { code, stdout, stderr } = await run([night.path, '--step'], '\n\nx\n3\nq\n')
    expect(code).toBe(0)
    expect(stderr).toContain('a number so many')
    expect(stdout.match(/ratio {2}[\d.]+ °C/g)!.length + (stdout.match(/degC {2}-/g)?.length ?? 0)).toBe(5)
    expect(stdout).toContain('Replayed 5 readings')
  })

  it('keeps to the stretch and the pace asked for', async () => {
    const from = performance.now()
    const { stdout } = await run([
      night.path,
      '--speed',
      '600',
      '--from',
      '2026-03-01T18:20:00Z',
      '--to',
      '2026-03-01T18:35:00Z',
    ])
    // A quarter of an hour at 600 times real time.
    expect(performance.now() - from).toBeGreaterThan(1_500)
    expect(stdout).not.toContain('opened')
    expect(stdout).toContain('settled')
    expect(stdout).not.toContain('Bath to 75')
  })

  it('refuses in words what it cannot do', async () => {
    const cases: [string[], RegExp][] = [
      [[join(night.folder, 'none')], /There is no file/],
      [[night.path, '--coefficients', 'now'], /name a data folder with --data, or a file with --register/],
      [[night.path, '--register', night.path], /cannot be read as JSON/],
      [[night.path, '--speed', 'fast'], /Give a number above 0/],
      [[night.path, '--from', 'yesterday'], /Give a time such as/],
    ]
    for (const [args, words] of cases) {
      const { code, stderr } = await run(args)
      expect(code).toBeGreaterThan(0)
      expect(stderr).toMatch(words)
    }
    const wrong = join(night.folder, 'wrong.json')
    writeFileSync(wrong, '{"thermometers":[{}]}')
    expect((await run([night.path, '--register', wrong])).stderr).toMatch(
      /is not a register: thermometers\.0/,
    )
    expect(Register.safeParse({}).success).toBe(true)
  })
})
