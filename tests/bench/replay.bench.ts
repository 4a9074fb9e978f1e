/**
 * A night of 96 channels through the whole chain again: from the file through conversion, windows and settling, as fast
 * as it goes. STILLPOINT_BENCH_NIGHT_H sets how many hours of it are written and replayed; the pace does not depend on it.
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { setFlagsFromString } from 'node:v8'
import { runInNewContext } from 'node:vm'
import { Bench } from '../../app/records/bench.ts'
import { Plan } from '../../app/records/plan.ts'
import type { NewReading } from '../../app/records/reading.ts'
import { Register } from '../../app/records/register.ts'
import type { NewSessionEvent, SessionInfo, SessionSetup } from '../../app/records/session.ts'
import { prepare } from '../../app/thermometry/convert.ts'
import { createSessionFile, openSessionFile, type SessionFile } from '../../main/store/session-file.ts'
import { Replayer } from '../../main/study/replayer.ts'
import { exampleClock, exampleInfo, exampleSetup, START_UTC_US } from '../store/example-data.ts'
import type { Row } from './row.ts'

const CHANNELS = 96
const HOURS = Number(process.env.STILLPOINT_BENCH_NIGHT_H ?? 2)
const SETPOINT_EVERY_S = 3600
const SETTLES_AFTER_S = 2400
const GOAL = 5000
/** What is kept of the past, with the quarter more that goes before the arrays are cut. */
const FULL_AFTER_S = 2700
/** Time constant of the bath, s. */
const TAU_S = 300

const CONVERSION = {
  kind: 'its90' as const,
  rWtp: '25.4671444',
  subrange: '3.3.2.3' as const,
  coefficients: { a: '-1.415946005e-4', b: '6.272617099e-6' },
}

const wideBench = (scanEveryS: number) =>
  Bench.parse({
    id: 'wide',
    name: 'Ninety-six channels',
    instruments: [
      {
        id: 'bridge',
        name: 'Bridge',
        profile: 'lab-ratio-bridge',
        link: { kind: 'tcp', host: '127.0.0.1', port: 5025 },
      },
    ],
    channels: Array.from({ length: CHANNELS }, (_, i) => ({
      id: `ch${i + 1}`,
      name: `Channel ${i + 1}`,
      role: i === 0 ? 'reference' : 'under-test',
      instrument: 'bridge',
      input: i + 1,
      thermometer: 'sprt',
      reference: { kind: 'resistor', resistor: 'r25' },
    })),
    scanEveryS,
  })

const register = Register.parse({
  thermometers: [
    {
      id: 'sprt',
      name: 'SPRT',
      kind: 'sprt',
      maker: '',
      model: '',
      serial: '1',
      owner: '',
      nominalOhm: 25.5,
      lowC: 0,
      highC: 230,
      currentMa: 1,
      selfHeatingMk: 0.6,
      fit: 'its90',
      calibrations: [
        {
          id: 'sprt-1',
          date: '2026-01-01',
          certificate: 'example',
          laboratory: 'Quennick Calibration House (invented)',
          conversion: CONVERSION,
          lowC: 0.01,
          highC: 231.928,
        },
      ],
      wtpHistory: [],
    },
  ],
  resistors: [
    {
      id: 'r25',
      name: 'Resistor',
      maker: '',
      serial: '1',
      nominalOhm: 25,
      keptAtC: 20,
      uKeptAtK: 0.05,
      calibrations: [
        {
          id: 'r25-1',
          date: '2026-01-01',
          certificate: 'example',
          laboratory: 'Quennick Calibration House (invented)',
          ohm: '25.0001',
          celsius: 20,
          alphaPerK: 0,
          betaPerK2: 0,
          driftPerYear: 0,
          expandedRelative: 4e-7,
          k: 2,
        },
      ],
    },
  ],
})

const setpoints = Array.from({ length: Math.ceil((HOURS * 3600) / SETPOINT_EVERY_S) }, (_, i) => 20 + 10 * i)
const plan = Plan.parse({
  id: 'night',
  name: 'A night',
  setpoints: setpoints.map((celsius) => ({ celsius })),
  settling: { windowS: 600, driftMkPerMin: 0.5, spreadMk: 2, bandK: 0.1, holdS: 300 },
})

const info: SessionInfo = exampleInfo
const setup = (scanEveryS: number): SessionSetup => ({
  ...exampleSetup,
  bench: wideBench(scanEveryS),
  plan,
  register,
})

/** The plan's steps, as a station writes them down. */
function step(
  atS: number,
  phase: string,
  index: number,
  kind: NewSessionEvent['kind'] = 'plan-step',
): NewSessionEvent {
  return {
    utcUs: START_UTC_US + atS * 1e6,
    monoUs: atS * 1e6,
    kind,
    who: 'station',
    subject: null,
    words: `Setpoint ${index + 1}: ${phase}.`,
    data: { phase, part: 'setpoints', step: index },
  }
}

function night(path: string, scanEveryS: number): void {
  const file = createSessionFile(path, { info, setup: setup(scanEveryS), clock: exampleClock() })
  const { toSignal } = prepare(CONVERSION)
  let seed = 1
  const noise = () => {
    seed = (seed * 1103515245 + 12345) % 2147483648
    return seed / 1073741824 - 1
  }
  for (let s = 0; s < HOURS * 3600; s += scanEveryS) {
    const index = Math.floor(s / SETPOINT_EVERY_S)
    const into = s % SETPOINT_EVERY_S
    const events: NewSessionEvent[] = []
    if (into === 0)
      events.push(step(s, 'setting', index), step(s, 'setting', index), step(s, 'waiting', index))
    if (into === SETTLES_AFTER_S) events.push(step(s, 'measuring', index, 'settled'))
    const goal = setpoints[index]!
    const celsius = goal + ((setpoints[index - 1] ?? 22) - goal) * Math.exp(-into / TAU_S)
    const readings: NewReading[] = Array.from({ length: CHANNELS }, (_, i) => {
      const raw = `+${(toSignal(celsius + 1e-3 * noise()).value / 25.0001).toFixed(9)}`
      const atUs = s * 1e6 + i * 10_000
      return {
        channel: `ch${i + 1}`,
        utcUs: START_UTC_US + atUs,
        monoUs: atUs,
        raw,
        value: raw,
        unit: 'ratio',
        marks: [],
        currentMa: 1,
      }
    })
    file.commit({ readings, ...(events.length > 0 && { events }) })
  }
  file.finish('complete', 'The night is over.')
  file.close()
}

/** Everything read and nothing made of it: what the file itself allows. */
function onlyRead(file: SessionFile): number {
  const from = performance.now()
  for (let seq = 0, page = file.since(seq, 4000); page.length > 0; page = file.since(seq, 4000)) {
    seq = page.at(-1)!.seq
  }
  return (performance.now() - from) / 1000
}

setFlagsFromString('--expose-gc')
const collect = runInNewContext('gc') as () => void
const heapMb = () => {
  collect()
  return process.memoryUsage().heapUsed / 1e6
}

function measure(folder: string, scanEveryS: number, name: string): Row[] {
  const path = join(folder, `night-${scanEveryS}.stillpoint`)
  night(path, scanEveryS)
  const file = openSessionFile(path, { mode: 'read' })
  try {
    const readS = onlyRead(file)
    const replayer = new Replayer(file)
    const from = performance.now()
    const cpu = process.cpuUsage()
    // From here on what is kept of the past is full, and memory stands still.
    replayer.advance(Math.min(FULL_AFTER_S * 1e6, 0.75 * replayer.endUs))
    const early = heapMb()
    replayer.advance(replayer.endUs)
    const seconds = (performance.now() - from) / 1000
    const { user, system } = process.cpuUsage(cpu)
    const cpuS = (user + system) / 1e6
    const late = heapMb()
    const settled = replayer.waits.filter(({ settledUtcUs }) => settledUtcUs !== null).length
    if (settled !== setpoints.length) throw new Error(`${settled} of ${setpoints.length} setpoints settled`)
    const pace = replayer.endUs / 1e6 / seconds
    const ownPace = replayer.endUs / 1e6 / cpuS
    const note = `${HOURS} h, ${file.readingCount} readings in ${seconds.toFixed(1)} s, with ${cpuS.toFixed(1)} s of processor time`
    return [
      {
        name: `replay of 96 channels by the wall clock, ${name}`,
        ours: pace,
        other: 1,
        unit: 'x real time',
        ratio: pace,
        goal: `>= ${GOAL}`,
        met: pace >= GOAL,
        note,
      },
      {
        name: `replay of 96 channels by its own processor time, ${name}`,
        ours: ownPace,
        other: 1,
        unit: 'x real time',
        ratio: ownPace,
        goal: '',
        met: null,
      },
      {
        name: `replay against only reading the file, ${name}`,
        ours: file.readingCount / seconds,
        other: file.readingCount / readS,
        unit: 'readings/s',
        ratio: readS / seconds,
        goal: '',
        met: null,
      },
      {
        name: `heap once windows are full and at the end, ${name}`,
        ours: late,
        other: early,
        unit: 'MB',
        ratio: late / early,
        goal: 'flat (<= 1.1)',
        met: late / early <= 1.1,
      },
    ]
  } finally {
    file.close()
  }
}

export async function bench(): Promise<Row[]> {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-bench-'))
  try {
    return [...measure(folder, 10, 'a scan every 10 s'), ...measure(folder, 1, 'a scan every second')]
  } finally {
    rmSync(folder, { recursive: true })
  }
}
