import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { CheckRequest } from '../../app/contract/check-request.ts'
import { FASTEST_PACE, PRACTICE_PACE } from '../../app/contract/views.ts'
import type { Conversion } from '../../app/kinds/conversion.ts'
import { prepare } from '../../app/thermometry/convert.ts'
import type { HostedStation } from '../../main/host/open-station.ts'
import { recordPractice } from '../../main/host/practice.ts'
import type { Services } from '../../main/host/services.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import { drawThermometer } from '../../simulator/paperwork/truth.ts'
import { type CellSubstance, fixedPoint, plateauC } from '../../simulator/scenarios/fixed-point.ts'
import { type EmptyHost, openEmptyHost } from './empty-host.ts'
import { enterKeeper } from './keeper.ts'
import { type Client, Windows } from './window.ts'

const SEED = 4
const CELLS = ['H2O', 'In', 'Sn'] as const satisfies readonly CellSubstance[]
const START_US = Date.UTC(2026, 2, 20, 8) * 1000

let folder: string
let hosted: HostedStation
let services: Services
let host: EmptyHost
let client: Client
let sessions: readonly string[]
const windows = new Windows()

beforeAll(async () => {
  host = await openEmptyHost(START_US)
  ;({ folder, hosted, services } = host)
  await enterKeeper(services)
  const made = await recordPractice('cells', { seed: SEED, folder, nowUtcUs: START_US, cells: CELLS })
  sessions = made.sessions
  for (const entry of made.register.thermometers) hosted.store.saveThermometer(entry, 'test', '')
  for (const id of sessions) {
    const file = openSessionFile(hosted.store.sessionPath(id), { mode: 'read' })
    hosted.store.registerSession(file)
    file.close()
  }
  client = windows.open(services, 'operator')
}, 120_000)
afterAll(async () => {
  windows.close()
  await host.close()
})

/** What the thermometer in the lab's cells truly is; nobody outside this test is told. */
function trueConversion(): Conversion {
  const scenario = fixedPoint('H2O')
  const { curve } = drawThermometer(scenario.thermometers[0]!, scenario.bench.uniformityMk, SEED)
  if (curve.kind !== 'its90') throw new Error('not an SPRT')
  return { kind: 'its90', rWtp: curve.rWtp, subrange: '3.3.2.3', coefficients: { a: curve.a, b: curve.b } }
}

const plateau = (i: number, rWtp?: number) =>
  client.checks.plateau({
    session: sessions[i]!,
    channel: 'cell',
    cell: { fixedPoint: CELLS[i]!, depthM: 0.15, uCellMk: CELLS[i] === 'H2O' ? 0.1 : 0.3 },
    ...(rWtp !== undefined && { rWtp }),
  })

describe('checks.plateau', () => {
  it('finds the freeze of each metal after its undercooling, and R to within its uncertainty of the truth', async () => {
    const exact = prepare(trueConversion())
    for (const [i, substance] of CELLS.entries()) {
      const { found, problem, utcS, readings, thermometer } = await plateau(i)
      expect(problem).toBeNull()
      expect(thermometer).toBe('sprt-0212')
      expect(utcS.length).toBeLessThanOrEqual(readings)
      expect(found!.kind).toBe(substance === 'H2O' ? 'hold' : 'freeze')
      expect(found!.heatingFrom).toBe('two-currents')
      const errorMk = ((found!.ohm - exact.toSignal(plateauC(substance)).value) / found!.ohmPerKelvin) * 1000
      expect(found!.uMk).toBeLessThan(0.6)
      expect(Math.abs(errorMk)).toBeLessThan(2 * found!.uMk)
    }
    const tin = (await plateau(2)).found!
    // Tin cools by about ten kelvins before it freezes; indium hardly.
    expect(tin.supercoolMk!).toBeGreaterThan(8000)
  }, 60_000)

  it('still shows the record where no plateau is found, with the reason, and takes a chosen stretch', async () => {
    const wrong = await client.checks.plateau({
      session: sessions[2]!,
      channel: 'cell',
      cell: { fixedPoint: 'Al' },
    })
    expect(wrong.found).toBeNull()
    expect(wrong.problem).toMatch(/No reading lies within/)
    expect(wrong.ohm.length).toBeGreaterThan(50)
    const { used } = (await plateau(2)).found!
    const middle = Math.round((used.fromUtcUs + used.toUtcUs) / 2)
    const chosen = await client.checks.plateau({
      session: sessions[2]!,
      channel: 'cell',
      cell: { fixedPoint: 'Sn', used: { fromUtcUs: used.fromUtcUs, toUtcUs: middle } },
    })
    expect(chosen.found).toMatchObject({ kind: 'chosen' })
    expect(chosen.found!.used.toUtcUs).toBeLessThanOrEqual(middle)
  }, 60_000)
})

describe('checks.record', () => {
  it('makes of the lab’s records a calibration whose coefficients and temperatures are true within their uncertainty', async () => {
    const plateaus = await Promise.all(CELLS.map((_, i) => plateau(i)))
    const request = CheckRequest.parse({
      check: 'fixed-points',
      plateaus: plateaus.map(({ found }) => found!.request),
      thermometer: 'sprt-0212',
      date: '2026-03-19',
      certificate: 'QTL-F-7',
      laboratory: 'Quennick Temperature Laboratory',
    })
    const { words } = await client.checks.record({ request, why: 'cells of the spring' })
    expect(words).toMatch(/new calibration of 2026-03-19 and an R\(WTP\) of that day/)
    const entry = hosted.store.register().thermometers.find((t) => t.id === 'sprt-0212')!
    const kept = entry.calibrations[0]!
    expect(kept).toMatchObject({ certificate: 'QTL-F-7', atZeroCurrent: true, lowC: 0.01 })
    if (kept.conversion.kind !== 'its90') throw new Error('not ITS-90')
    expect(kept.conversion.coefficients.a).toMatch(/^-?\d\.\d{9}e[+-]\d+$/)
    expect(kept.uncertainty!.points.map(({ celsius }) => celsius)).toContain(156.598995)
    expect(entry.wtpHistory.at(-1)).toMatchObject({ note: `from the plateaus of ${kept.id}` })
    const exact = prepare(trueConversion())
    const found = prepare(kept.conversion)
    for (const { celsius, expandedMk } of kept.uncertainty!.points) {
      const errorMk = (found.toTemperature(exact.toSignal(celsius).value).value - celsius) * 1000
      expect(expandedMk).toBeLessThan(1.5)
      expect(Math.abs(errorMk)).toBeLessThan(expandedMk)
    }
  }, 60_000)
})

describe('checks.practise', () => {
  it('files a record of resistors to check a bridge on, with their entries, and never writes over a session', async () => {
    const before = (await client.archive.sessions({})).total
    const first = await client.checks.practise({ what: 'bridge', seed: SEED })
    expect(first.words).toMatch(/1 session is in the archive/)
    await client.checks.practise({ what: 'bridge', seed: SEED })
    const { rows } = await client.archive.sessions({})
    expect(rows.length).toBe(before + 2)
    const register = hosted.store.register()
    expect(register.resistors.map((r) => r.id)).toContain('resistor-100s')
    const { info } = rows.find((row) => row.info.name === 'Bridge and resistors, practice')!
    const ratio = async (channel: string) =>
      (await client.history.statistics({ session: info.id, channel, quantity: 'raw' })).mean!
    // Both ways round make 1, but for a bridge whose linearity is stated to 5e-8 (k = 1) at ratios up to 4.
    const product = (await ratio('pair-25-over-100')) * (await ratio('pair-100-over-25'))
    expect(Math.abs(product - 1)).toBeLessThan(4 * 5e-8 * 4.2)
    const series = (await ratio('net-a')) + (await ratio('net-b'))
    expect(Math.abs((await ratio('net-a-b-series')) - series)).toBeLessThan(6e-7)
  }, 180_000)
})

describe('station.pace', () => {
  it('is that of the lab as well: what the station waits, the furnace has lived through', async () => {
    await client.station.pace({ pace: FASTEST_PACE })
    await client.bench.startLab({ seed: SEED, scenario: 'cell-Zn' })
    const celsius = () => services.lab!.truth.temperatureAt('sprt-0212')
    const { utcUs } = await client.station.state()
    const cold = celsius()
    await host.clock.sleep(30 * 60_000)
    // Half an hour is most of the way of this furnace, at whatever pace.
    expect(celsius() - cold).toBeGreaterThan(100)
    const { words } = await client.station.pace({ pace: PRACTICE_PACE })
    expect(words).toContain(`${PRACTICE_PACE} times as fast as the wall`)
    const state = await client.station.state()
    expect(state.pace).toBe(PRACTICE_PACE)
    expect(state.utcUs - utcUs).toBeGreaterThanOrEqual(30 * 60e6)
  }, 60_000)
})
