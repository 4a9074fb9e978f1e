import { mkdtempSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { utcDay } from '../../app/base/times.ts'
import { sessionChecks } from '../../app/checks/check-history.ts'
import { Customer } from '../../app/records/customer.ts'
import { InstrumentRecord, Resistor, Thermometer } from '../../app/records/register.ts'
import type { SessionSetup } from '../../app/records/session.ts'
import { seededRandom } from '../../app/statistics/random.ts'
import { openStationStore, type StationStore } from '../../main/store/station-store.ts'
import { sketchOf } from '../../main/study/session-sketch.ts'
import type { Truth } from '../report/fixture.ts'
import { fixtureSession } from '../report/session-fixture.ts'

/** What a laboratory of one bench comes to in a year. */
const A_YEAR = { sessions: 500, thermometers: 300, resistors: 20, notes: 1000 }
const DAY_US = 86_400e6
/** The day on which the years begin; calibrations of the records begin some years before. */
const START_US = Date.parse('2026-03-01T00:00:00Z') * 1000
const REFERENCE = 'ref-25'
const CHECKS = 6
const CALIBRATIONS = 10

export interface Years {
  sessions: number
  thermometers: number
  ledger: number
  /** Moment at which they end, us of UTC. */
  endUtcUs: number
}

/**
 * Builds the years of a laboratory in a data folder through the station's own writer: records with their calibrations
 * saved one by one, sessions with points, check thermometers, customers and notes in the ledger. Only waiting for the disk
 * is left out.
 */
export function buildYears(folder: string, years: number, seed: number, say = (_: string) => {}): Years {
  const now = { utcUs: START_US }
  const clock = { now: () => ({ utcUs: now.utcUs, monoUs: now.utcUs - START_US }) }
  const store = openStationStore(folder, { clock, sketch: sketchOf })
  try {
    store.database.pragma('synchronous = OFF')
    const random = seededRandom(seed)
    const thermometers = Math.round(A_YEAR.thermometers * years)
    saveRecords(store, thermometers, Math.round(A_YEAR.resistors * years), now)
    say(`${thermometers} thermometers with ${CALIBRATIONS} calibrations each`)
    const sessions = Math.round(A_YEAR.sessions * years)
    for (let n = 0; n < sessions; n += 1) {
      now.utcUs = START_US + Math.round((n / A_YEAR.sessions) * 365 * DAY_US)
      saveSession(store, n, thermometers, () => Math.floor(random.uniform() * thermometers), now)
      if (n % 500 === 499) say(`${n + 1} of ${sessions} sessions`)
    }
    for (let n = 0; n < A_YEAR.notes * years; n += 1)
      store.appendLedger({
        ...{ who: `Person ${n % 7}`, what: 'remark', subject: `t-${n % thermometers}`, old: null, new: null },
        why: `Seen on day ${n}, nothing to be done.`,
      })
    return { sessions, thermometers, ledger: store.ledgerLines({ most: 1 }).total, endUtcUs: now.utcUs }
  } finally {
    store.close()
  }
}

const idOf = (n: number) => `t-${n}`

function thermometerOf(n: number, calibrations: number): Thermometer {
  return Thermometer.parse({
    ...{ id: idOf(n), name: `Thermometer ${n}`, kind: 'prt', lowC: -40, highC: 250, nominalOhm: 100 },
    ...{ maker: 'Hollin & Daughters', serial: `HD-${1000 + n}`, owner: `Customer ${n % 40}` },
    calibrations: Array.from({ length: calibrations }, (_, i) => ({
      ...{ id: `c-${i}`, date: `${2016 + i}-02-01`, due: `${2017 + i + (n % 13)}-02-01` },
      ...{ certificate: `K-${n}-${i}`, laboratory: 'Quennick Temperature Laboratory', lowC: -40, highC: 250 },
      conversion: {
        kind: 'callendar-van-dusen',
        r0: 100 + i * 1e-4,
        a: 3.9083e-3,
        b: -5.775e-7,
        c: -4.183e-12,
      },
      uncertainty: { k: 2, points: [0, 100, 200].map((celsius) => ({ celsius, expandedMk: 12 })) },
    })),
    wtpHistory: Array.from({ length: n < 200 ? calibrations : 0 }, (_, i) => ({
      ...{
        date: `${2016 + i}-02-01`,
        ohm: (100.004 + 1e-5 * ((n * 7 + i * 13) % 10)).toFixed(6),
        uOhm: 1e-5,
      },
    })),
  })
}

function saveRecords(
  store: StationStore,
  thermometers: number,
  resistors: number,
  now: { utcUs: number },
): void {
  for (let n = 0; n < 40; n += 1)
    store.records.save('customer', `cu-${n}`, Customer.parse({ id: `cu-${n}`, name: `Customer ${n}` }), {
      who: 'C. Keeper',
      why: 'first order',
    })
  for (let year = 1; year <= CALIBRATIONS; year += 1) {
    now.utcUs += 60e6
    for (let n = 0; n < thermometers; n += 1)
      store.saveThermometer(thermometerOf(n, year), 'C. Keeper', `calibration of ${2015 + year}`)
    for (let n = 0; n < resistors; n += 1) store.saveResistor(resistorOf(n, year), 'C. Keeper', 'calibrated')
  }
  for (let n = 0; n < 12; n += 1)
    store.saveInstrument(
      InstrumentRecord.parse({
        ...{ id: `i-${n}`, name: `Bridge ${n}`, role: 'ratio-bridge', serial: `B-${n}` },
        bridge: { linearityRatio: 2e-8, resolutionRatio: 1e-9, highestRatio: 4 },
      }),
      'C. Keeper',
      'bought',
    )
}

const resistorOf = (n: number, calibrations: number) =>
  Resistor.parse({
    ...{
      id: `r-${n}`,
      name: `Resistor ${n}`,
      serial: `R-${n}`,
      nominalOhm: 100,
      keptAtC: 23,
      uKeptAtK: 0.02,
    },
    calibrations: Array.from({ length: calibrations }, (_, i) => ({
      ...{ id: `c-${i}`, date: `${2016 + i}-02-01`, due: `${2027 + i}-02-01`, certificate: `R-${n}-${i}` },
      ...{
        laboratory: 'Quennick Temperature Laboratory',
        ohm: `100.0001${i}`,
        celsius: 23,
        expandedRelative: 1e-6,
      },
    })),
  })

/** A night with three thermometers of the register, one of them a check thermometer with a calibration of its own. */
function saveSession(
  store: StationStore,
  n: number,
  thermometers: number,
  any: () => number,
  now: { utcUs: number },
): void {
  const id = `s-${utcDay(now.utcUs)}-${n}`
  const check = n % CHECKS
  const under = CHECKS + (any() % Math.max(1, thermometers - CHECKS))
  const { session } = fixtureSession(
    store.sessionPath(id),
    { seed: 1 + (n % 50), setpoints: [25, 75], cell: 'none', readings: 6 },
    (setup, truth) => withRecords(setup, truth, { check, under }),
    {
      ...{ id, name: `Night ${n}`, operator: `Person ${n % 7}`, note: `Order O-${n % 900}` },
      shiftUs: now.utcUs - START_US,
    },
  )
  store.registerSession(session)
  // As the station does in its own time after a session has ended.
  const { next } = store.checkPoints.waiting()
  if (next) {
    const { info, setup } = session
    const checks = sessionChecks({ info, setup, points: session.points(), events: session.events() })
    store.checkPoints.keep(next.id, next.form, checks)
  }
  session.close()
}

function withRecords(
  { register, bench, ...rest }: SessionSetup,
  truth: Truth,
  { check, under }: { check: number; under: number },
): SessionSetup {
  const names: Readonly<Record<string, string>> = { 'prt-x1': idOf(under), 'prt-x2': idOf(check) }
  const named = (id: string) => names[id] ?? id
  const own = {
    ...{ id: 'own', date: '2025-10-01', certificate: 'Q-2', laboratory: 'Quennick Temperature Laboratory' },
    ...{ lowC: -10, highC: 150, conversion: truth.conversions.x2!, atZeroCurrent: true },
  }
  const kept = new Set(['s0', 'x1', 'x2'])
  return {
    ...rest,
    bench: {
      ...bench,
      channels: bench.channels
        .filter((c) => kept.has(c.id))
        .map((c) => ({
          ...c,
          role: c.id === 'x2' ? ('check' as const) : c.role,
          ...(c.thermometer !== undefined && { thermometer: named(c.thermometer) }),
        })),
    },
    register: {
      ...register,
      thermometers: register.thermometers
        .filter(({ id }) => id === REFERENCE || id in names)
        .map((t) => ({
          ...t,
          id: named(t.id),
          calibrations: t.id === 'prt-x2' ? [own] : t.calibrations,
        })),
    },
  }
}

/** `npm run soak -- --years N`: builds them, and looks whether everything is there and the store grew with what was saved. */
export async function tenYears(
  years: number,
  seed: number,
  into?: string,
): Promise<{ good: boolean; lines: string[] }> {
  const folder = into ?? mkdtempSync(join(tmpdir(), 'stillpoint-years-'))
  const lines: string[] = []
  try {
    const from = performance.now()
    const built = buildYears(folder, years, seed, (words) => console.log(words))
    lines.push(`built in ${((performance.now() - from) / 1000).toFixed(0)} s: ${JSON.stringify(built)}`)
    const store = openStationStore(folder, { clock: { now: () => ({ utcUs: 0, monoUs: 0 }) }, mode: 'read' })
    try {
      const ledger = store.verifyLedger()
      const versions = store.records.verify()
      lines.push(`ledger ${ledger.entries} entries: ${ledger.firstBreak ?? 'whole'}`)
      lines.push(`records ${versions.versions} versions: ${versions.firstBreak ?? 'whole'}`)
      lines.push(`station.db ${(statSync(join(folder, 'station.db')).size / 1e6).toFixed(1)} MB`)
      const listed = store.sessionIds().length
      const good = ledger.whole && versions.whole && listed === built.sessions
      lines.push(good ? 'Everything is there.' : `${listed} of ${built.sessions} sessions are listed.`)
      return { good, lines }
    } finally {
      store.close()
    }
  } finally {
    if (into === undefined) rmSync(folder, { recursive: true, force: true })
  }
}
