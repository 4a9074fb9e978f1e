import { spawnSync } from 'node:child_process'
import { copyFileSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { SessionPlateau } from '../../app/checks/fixed-point-record.ts'
import type { Conversion } from '../../app/kinds/conversion.ts'
import { prepare } from '../../app/thermometry/convert.ts'
import { PeopleDesk } from '../../main/host/people/people-desk.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { answerCheckLineAt } from '../../main/study/checks-lines.ts'
import { plateauOfSession } from '../../main/study/checks-plateau.ts'
import { personAct } from '../../main/study/person-act.ts'
import type { ThermometerTruth } from '../../simulator/paperwork/truth.ts'
import { type CellSubstance, fixedPoint, plateauC } from '../../simulator/scenarios/fixed-point.ts'
import { RawClient } from '../simulator/bench-client.ts'
import { openBox } from './box.ts'

const cli = join(import.meta.dirname, '../../main/host/cli.ts')
/** Where the element sits in the lab's cells, m. */
const DEPTH_M = 0.15
const SEED = 11

let folder: string
let truth: ThermometerTruth
const files = new Map<CellSubstance, string>()

/** Records a cell while its furnace melts it, or its bath holds it, and keeps the session's file. */
async function recordCell(substance: CellSubstance, aboveK: number, hours: number): Promise<void> {
  const box = await openBox({ seed: SEED, scenario: fixedPoint(substance) })
  try {
    // A furnace hotter than the station's own limits is set at its panel, as a person does.
    const panel = await RawClient.open(box.lab, 'bath')
    panel.tell(`SOUR:TEMP:SPO ${(plateauC(substance) + aboveK).toFixed(3)}\nOUTP ON\n`)
    expect(Number(await panel.ask('SOUR:TEMP:SPO?\n'))).toBeCloseTo(plateauC(substance) + aboveK, 2)
    panel.socket.destroy()
    const id = await box.station.record({ operator: 'Test', name: `${substance} cell` })
    await box.clock.sleep(hours * 3_600_000)
    box.station.stop('Test', 'the plateau is over')
    await box.station.finished
    const file = join(folder, `${substance}.session`)
    copyFileSync(box.store.sessionPath(id), file)
    files.set(substance, file)
    truth = box.lab.truth.thermometers.get('sprt-0212')!
  } finally {
    await box.close()
  }
}

const plateauOf = (substance: CellSubstance): SessionPlateau =>
  plateauOfSession(
    { session: files.get(substance)!, channel: 'cell' },
    { fixedPoint: substance, depthM: DEPTH_M, uCellMk: 0.3 },
  )

function trueConversion(): Conversion {
  const { curve } = truth
  if (curve.kind !== 'its90') throw new Error('not an SPRT')
  return {
    kind: 'its90',
    rWtp: curve.rWtp,
    subrange: '3.3.2.3',
    coefficients: { a: curve.a, b: curve.b },
  }
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stillpoint-cells-'))
  await recordCell('H2O', 0.01, 5)
  await recordCell('Sn', 5, 3)
  await recordCell('Zn', 5, 4)
}, 240_000)
afterAll(() => rmSync(folder, { recursive: true, force: true }))

describe('a cell recorded by the station', () => {
  it.each(['H2O', 'Sn', 'Zn'] as const)(
    '%s: its plateau gives R to within its uncertainty of the truth',
    (substance) => {
      const { plateau, value, request } = plateauOf(substance)
      expect(plateau.kind).toBe(substance === 'H2O' ? 'hold' : 'melt')
      expect(plateau.toS - plateau.fromS).toBeGreaterThan(3000)
      expect(value.t90C).toBeCloseTo(plateauC(substance), 6)
      const thermometer = prepare(trueConversion())
      const errorMk =
        ((value.ohm - thermometer.toSignal(plateauC(substance)).value) / request.ohmPerKelvin) * 1000
      expect(value.uMk).toBeLessThan(1.5)
      expect(Math.abs(errorMk)).toBeLessThan(2 * value.uMk)
    },
  )

  it('takes head and self-heating off, the latter from the two currents of the record', () => {
    const { value, request, notes, w, heatingFrom } = plateauOf('Sn')
    // ITS-90 table 2: 2.2 mK per metre of tin.
    expect(value.headMk).toBeCloseTo(2.2 * DEPTH_M, 9)
    expect(request.selfHeatingMk).toBeGreaterThan(0)
    expect(value.ohm).toBeLessThan(request.ohm)
    expect(heatingFrom).toBe('two-currents')
    expect(notes).toEqual([])
    const power = 1e-6 * truth.selfHeatingKPerW * value.ohm * 1e3
    expect(Math.abs(request.selfHeatingMk - power)).toBeLessThan(2 * request.uSelfHeatingMk + 0.02)
    // Nothing is known of R(WTP) before the water cell is taken.
    expect(w).toBeNull()
    const water = plateauOf('H2O').value
    const withWtp = plateauOfSession(
      { session: files.get('Sn')!, channel: 'cell' },
      { fixedPoint: 'Sn', depthM: DEPTH_M, uCellMk: 0.3 },
      { rWtp: water.ohm },
    )
    const exact = prepare(trueConversion())
    const trueW = exact.toSignal(plateauC('Sn')).value / exact.toSignal(0.01).value
    // dW/dt of platinum at tin is 3.7e-3 per kelvin.
    expect(Math.abs((withWtp.w! - trueW) / 3.7e-3)).toBeLessThan(2e-3)
  })

  it('gives with two others ITS-90 coefficients that are true within their uncertainty over the range', async () => {
    const data = join(folder, 'station')
    const clock = { now: () => ({ utcUs: Date.UTC(2026, 2, 3) * 1000, monoUs: 0 }) }
    const store = openStationStore(data, { clock })
    try {
      const entry = registerThen().thermometers.find((t) => t.id === 'sprt-0212')!
      store.saveThermometer(entry, 'test', '')
      await new PeopleDesk(store).enterFirst('C. Keeper', 'a long enough one')
      const act = await personAct(store, 'keep-records', {
        who: 'C. Keeper',
        why: 'fixed points of the spring',
        canAsk: false,
        environment: { STILLPOINT_PASSWORD: 'a long enough one' },
      })
      const answer = answerCheckLineAt({ store, dataFolder: data, act, today: '2026-03-03' })(
        JSON.stringify({
          id: 1,
          check: 'fixed-points',
          thermometer: 'sprt-0212',
          certificate: 'QTL-F-1',
          laboratory: 'Quennick Temperature Laboratory',
          tableC: [100, 300, 400],
          plateaus: (['H2O', 'Sn', 'Zn'] as const).map((substance) => ({
            session: files.get(substance),
            channel: 'cell',
            fixedPoint: substance,
            depthM: DEPTH_M,
            uCellMk: 0.3,
          })),
        }),
        1,
      ) as unknown as {
        error?: string
        recorded: string
        rWtp: number
        conversion: Conversion
        table: { celsius: number; uK: number }[]
        coefficients: { name: string; value: number; expanded: number }[]
      }
      expect(answer.error).toBeUndefined()
      expect(answer.recorded).toMatch(/new calibration of 2026-03-03/)
      const curve = trueConversion() as Extract<Conversion, { kind: 'its90' }>
      for (const name of ['a', 'b'] as const) {
        const found = answer.coefficients.find((c) => c.name === name)!
        expect(Math.abs(found.value - Number(curve.coefficients[name]))).toBeLessThan(found.expanded)
      }
      const exact = prepare(curve)
      const found = prepare(answer.conversion)
      for (const { celsius, uK } of answer.table) {
        const error = found.toTemperature(exact.toSignal(celsius).value).value - celsius
        expect(uK).toBeLessThan(2e-3)
        expect(Math.abs(error)).toBeLessThan(2 * uK)
      }
      const kept = store.register().thermometers[0]!
      expect(kept.calibrations).toMatchObject([
        { certificate: 'QTL-F-1', date: '2026-03-03', atZeroCurrent: true },
      ])
      expect(Number(kept.wtpHistory[0]!.ohm)).toBeCloseTo(answer.rWtp, 8)
      expect(store.ledger()[0]).toMatchObject({ who: 'C. Keeper', why: 'fixed points of the spring' })
    } finally {
      store.close()
    }
  })

  it('is reduced from the command line as well, and a wrong cell or channel is refused in words', () => {
    const call = (...args: string[]) =>
      spawnSync(process.execPath, [cli, 'check', 'plateau', '--session', files.get('Sn')!, ...args], {
        encoding: 'utf8',
        timeout: 60_000,
      })
    const done = call('--channel', 'cell', '--cell', 'Sn', '--depth', '0.15', '--u-cell', '0.3')
    expect(done.stderr).toBe('')
    expect(JSON.parse(done.stdout)).toEqual(JSON.parse(JSON.stringify(plateauOf('Sn'))))
    const nowhere = call('--channel', 'nothing', '--cell', 'Sn')
    expect(nowhere.status).toBe(1)
    expect(nowhere.stderr).toMatch(/no channel "nothing"; it has cell, cell-high, beside/)
    expect(call('--channel', 'cell', '--cell', 'Xx').stderr).toMatch(/not a fixed point; use one of/)
  })
})

/** The register the sessions were recorded with. */
function registerThen() {
  const file = openSessionFile(files.get('Sn')!, { mode: 'read' })
  try {
    return file.setup.register
  } finally {
    file.close()
  }
}
