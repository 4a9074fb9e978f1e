import { spawnSync } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { allNetworks, networkValue } from '../../app/checks/network.ts'
import { PeopleDesk } from '../../main/host/people/people-desk.ts'
import { openStationStore, type StationStore } from '../../main/store/station-store.ts'
import { answerCheckLineAt } from '../../main/study/checks-lines.ts'
import { openExistingStore, personAct } from '../../main/study/person-act.ts'

const cli = join(import.meta.dirname, '../../main/host/cli.ts')
const WHO = 'C. Keeper'
const PASSWORD = 'a long enough one'

let folder: string

/** Opens the register of the test for one act, as a command does. */
function withStore<T>(act: (store: StationStore) => T): T {
  const store = openExistingStore(folder, 'write')
  try {
    return act(store)
  } finally {
    store.close()
  }
}

const resistor = (id: string, ohm: string, date: string) => ({
  id,
  name: `Resistor ${id}`,
  maker: 'Quennick',
  serial: id,
  nominalOhm: 100,
  keptAtC: 20,
  uKeptAtK: 0.02,
  calibrations: [
    {
      id: `${id}-1`,
      date,
      certificate: 'Q-1',
      laboratory: 'Quennick Calibration House (invented)',
      ohm,
      celsius: 20,
      alphaPerK: 0,
      betaPerK2: 0,
      driftPerYear: 0,
      expandedRelative: 4e-7,
      k: 2,
      uDriftPerYear: 0,
    },
  ],
})

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stillpoint-checks-'))
  const store = openStationStore(folder, { clock: { now: () => ({ utcUs: Date.now() * 1000, monoUs: 0 }) } })
  store.saveInstrument(
    {
      id: 'bridge',
      name: 'Bridge',
      role: 'ratio-bridge',
      maker: '',
      model: '',
      serial: '',
      bridge: { linearityRatio: 5e-8, resolutionRatio: 1e-9, lowestRatio: 0, highestRatio: 4 },
    },
    'test',
    '',
  )
  store.saveResistor(resistor('better', '100.0001', '2025-01-10'), 'test', '')
  store.saveResistor(resistor('own', '100.0002', '2025-01-10'), 'test', '')
  await new PeopleDesk(store).enterFirst(WHO, PASSWORD)
  store.close()
})
afterAll(() => rmSync(folder, { recursive: true, force: true }))

/** Readings of all networks of three resistors by a bridge with an error in n squared. */
function networkReadings(error: number) {
  const values = { a: 0.2513, b: 0.5007, c: 0.9981 }
  const text = (network: ReturnType<typeof allNetworks>[number]): unknown =>
    network.kind === 'one' ? network.resistor : { [network.kind]: network.parts.map(text) }
  return allNetworks(Object.keys(values)).map((network) => {
    const n = networkValue(network, values).value
    return { network: text(network), ratio: n + error * n * n, u: 1e-9 }
  })
}

const ask = (desk: Parameters<typeof answerCheckLineAt>[0], request: object) =>
  answerCheckLineAt(desk)(JSON.stringify({ id: 1, ...request }), 1) as Record<string, unknown>

describe('answerCheckLineAt', () => {
  const act = { who: WHO, why: 'yearly check' }
  const today = '2026-03-01'

  it('writes a bridge check into the register, dated, with its entry in the ledger', () => {
    withStore((store) => {
      const answer = ask(
        { store, act, today },
        { check: 'networks', instrument: 'bridge', date: '2026-02-03', readings: networkReadings(4e-7) },
      )
      expect(answer.error).toBeUndefined()
      expect(answer.recorded).toMatch(/Budgets take the larger, found figure/)
      const [check] = store.register().instruments[0]!.checks!
      expect(check).toMatchObject({
        id: 'network-2026-02-03',
        kind: 'network',
        date: '2026-02-03',
        agrees: false,
      })
      expect(check!.linearityRatio).toBeGreaterThan(5e-8)
      expect(check!.results.find((r) => r.name === 'term in n^2')!.value).toBeCloseTo(4e-7, 9)
      expect(store.ledger({ subject: 'bridge' })[0]).toMatchObject({
        who: WHO,
        why: 'yearly check',
        what: 'instrument saved',
      })
    })
  })

  it('keeps two checks of one day apart, and a smaller figure narrows nothing', () => {
    withStore((store) => {
      const pairs = [{ name: '25 and 100', ratio: 0.25, u: 1e-9, reciprocal: 4, uReciprocal: 1e-8 }]
      const request = { check: 'interchange', instrument: 'bridge', date: '2026-02-20', pairs }
      expect(ask({ store, act, today }, request).recorded).toMatch(/Budgets keep the stated figure/)
      ask({ store, act, today }, request)
      expect(store.register().instruments[0]!.checks!.map((c) => c.id)).toEqual([
        'network-2026-02-03',
        'interchange-2026-02-20',
        'interchange-2026-02-20-2',
      ])
    })
  })

  it('takes resistors by their ids, and makes a comparison a new dated calibration where that is wanted', () => {
    withStore((store) => {
      const request = {
        check: 'resistor',
        date: '2026-02-10',
        ratio: '1.0000015',
        uRatio: 2e-8,
        better: 'better',
        resistor: 'own',
      }
      expect(ask({ store, today }, request).recorded).toBeUndefined()
      expect(store.register().resistors.find((r) => r.id === 'own')!.comparisons).toBeUndefined()
      ask({ store, act, today }, request)
      const compared = store.register().resistors.find((r) => r.id === 'own')!
      expect(compared.calibrations).toHaveLength(1)
      expect(compared.comparisons).toMatchObject([{ against: 'better', date: '2026-02-10' }])
      ask({ store, act, today }, { ...request, asCalibration: true, certificate: 'QTL-R-9' })
      const own = store.register().resistors.find((r) => r.id === 'own')!
      // R = n Rs: 1.0000015 x 100.0001
      expect(Number(own.calibrations[1]!.ohm)).toBeCloseTo(1.0000015 * 100.0001, 9)
      expect(own.calibrations[1]).toMatchObject({ date: '2026-02-10', certificate: 'QTL-R-9' })
      expect(own.comparisons![1]!.calibration).toBe(own.calibrations[1]!.id)
    })
  })

  it('keeps the due date that is given, and else the interval of before', () => {
    withStore((store) => {
      const desk = { store, act, today }
      const kept = resistor('dated', '100.0002', '2025-01-10')
      store.saveResistor(
        { ...kept, calibrations: [{ ...kept.calibrations[0]!, due: '2027-01-10' }] },
        'test',
        '',
      )
      const request = {
        check: 'resistor',
        ratio: '1.0000015',
        uRatio: 2e-8,
        better: 'better',
        resistor: 'dated',
        asCalibration: true,
      }
      ask(desk, { ...request, date: '2026-02-10' })
      ask(desk, { ...request, date: '2026-03-10', due: '2026-09-10' })
      const dues = store
        .register()
        .resistors.find((r) => r.id === 'dated')!
        .calibrations.map((c) => c.due)
      expect(dues).toEqual(['2027-01-10', '2028-02-10', '2026-09-10'])
      expect(ask(desk, { ...request, date: '2026-04-10', due: '2026-04-01' }).error).toMatch(
        /does not lie after the day of the work/,
      )
      const pairs = [{ name: '25 and 100', ratio: 0.25, u: 1e-9, reciprocal: 4, uReciprocal: 1e-8 }]
      const check = { check: 'interchange', instrument: 'bridge', pairs }
      ask(desk, { ...check, date: '2026-04-01', due: '2026-10-01' })
      ask(desk, { ...check, date: '2026-10-02' })
      const checks = store.register().instruments[0]!.checks!
      expect(checks.slice(-2).map((c) => c.due)).toEqual(['2026-10-01', '2027-04-02'])
    })
  })

  it('keeps a comparison of two cells with the cell, and the plateaus of a set with theirs', () => {
    withStore((store) => {
      const desk = { store, act, today }
      const cell = {
        fixedPoint: 'Sn' as const,
        maker: '',
        serial: '',
        depthM: 0.16,
        uDepthM: 0.005,
        offsetMk: 0,
        uMk: 0.3,
      }
      store.saveCell({ id: 'tin-3', name: 'Tin cell 3', ...cell }, 'test', '')
      store.saveCell({ id: 'tin-4', name: 'Tin cell 4', ...cell }, 'test', '')
      const plateau = (ohm: number) => ({
        fixedPoint: 'Sn',
        ohm,
        depthM: 0.16,
        uCellMk: 0.3,
        uTypeAMk: 0.03,
        ohmPerKelvin: 0.0946,
      })
      const request = {
        check: 'cells',
        cell: 'tin-3',
        against: 'tin-4',
        own: plateau(48.00001),
        other: plateau(48),
      }
      expect(ask(desk, { ...request, date: '2026-02-01' }).recorded).toMatch(
        /0\.106 mK from the other cell.*they agree/,
      )
      expect(ask(desk, { ...request, cell: 'tin-9' }).error).toMatch(/no cell "tin-9"/)
      expect(store.records.one('cell', 'tin-3')!.comparisons).toMatchObject([
        { id: 'tin-3-tin-4-2026-02-01', against: 'tin-4', agrees: true },
      ])
      expect(store.ledger({ subject: 'tin-3' })[0]).toMatchObject({ what: 'cell saved', why: 'yearly check' })
    })
  })

  it('refuses in words what it cannot place, and writes nothing', () => {
    withStore((store) => {
      const desk = { store, act, today }
      const before = store.ledger().length
      const pairs = [{ name: 'x', ratio: 0.25, u: 1e-9, reciprocal: 4, uReciprocal: 1e-8 }]
      expect(ask(desk, { check: 'interchange', pairs }).error).toMatch(/Name the bridge/)
      expect(ask(desk, { check: 'interchange', instrument: 'nowhere', pairs }).error).toMatch(
        /no instrument "nowhere"/,
      )
      expect(
        ask(desk, {
          check: 'resistor',
          date: '2026-02-10',
          ratio: 1,
          uRatio: 1e-8,
          better: 'gone',
          resistor: 'own',
        }).error,
      ).toMatch(/no resistor "gone"/)
      expect(answerCheckLineAt(desk)('{', 4)).toMatchObject({
        id: null,
        error: expect.stringMatching(/Line 4/),
      })
      expect(store.ledger().length).toBe(before)
    })
  })
})

describe('personAct', () => {
  it('lets nobody write who may not, gives no reason, or cannot be asked', async () => {
    const store = openExistingStore(folder, 'write')
    const claim = { who: WHO, why: 'because', canAsk: false }
    const given = (password: string) => ({ STILLPOINT_PASSWORD: password })
    try {
      await expect(
        personAct(store, 'keep-records', { ...claim, environment: given(PASSWORD) }),
      ).resolves.toEqual({
        who: WHO,
        why: 'because',
      })
      for (const [bad, words] of [
        [{ ...claim, environment: given('guess guess') }, /Name or password are not right/],
        [{ ...claim, who: 'N. Body', environment: given(PASSWORD) }, /Name or password are not right/],
        [{ ...claim, why: ' ', environment: given(PASSWORD) }, /--who NAME --why TEXT/],
        [{ ...claim, environment: {} }, /STILLPOINT_PASSWORD/],
      ] as const) {
        await expect(personAct(store, 'keep-records', bad)).rejects.toThrow(words)
      }
    } finally {
      store.close()
    }
  })

  it('is refused where nobody has been entered', async () => {
    const bare = mkdtempSync(join(tmpdir(), 'stillpoint-bare-'))
    const store = openStationStore(bare, { clock: { now: () => ({ utcUs: 0, monoUs: 0 }) } })
    try {
      await expect(personAct(store, 'keep-records', { who: WHO, why: 'x', canAsk: false })).rejects.toThrow(
        /Nobody has been entered at this station yet/,
      )
    } finally {
      store.close()
      rmSync(bare, { recursive: true })
    }
  })
})

describe('stillpoint check --record', () => {
  const call = (args: string[], password?: string) =>
    spawnSync(process.execPath, [cli, 'check', ...args], {
      encoding: 'utf8',
      timeout: 60_000,
      env: { ...process.env, ...(password !== undefined && { STILLPOINT_PASSWORD: password }) },
    })

  it('records for its keeper, and refuses in words while a station holds the folder', () => {
    const file = join(folder, 'ratios.jsonl')
    const pairs = [{ name: '25 over 100', ratio: 0.25000012, u: 2e-8, known: 0.25000009, uKnown: 4e-8 }]
    writeFileSync(
      file,
      `${JSON.stringify({ id: 1, check: 'ratios', instrument: 'bridge', date: '2026-02-25', pairs })}\n`,
    )
    const args = [file, '--data', folder, '--record', '--who', WHO, '--why', 'known ratios']
    const done = call(args, PASSWORD)
    expect(done.stderr).toBe('')
    expect(JSON.parse(done.stdout)).toMatchObject({ id: 1, recorded: expect.stringMatching(/2026-02-25/) })
    expect(withStore((store) => store.register().instruments[0]!.checks!.at(-1))).toMatchObject({
      kind: 'comparison',
      agrees: true,
    })
    const held = withStore(() => call(args, PASSWORD))
    expect(held.status).toBe(1)
    expect(held.stderr).toMatch(/in use by another station/)
    const nowhere = call(
      [file, '--data', join(folder, 'nowhere'), '--record', '--who', WHO, '--why', 'x'],
      PASSWORD,
    )
    expect(nowhere.stderr).toMatch(/holds no station/)
    expect(call([file, '--record', '--who', WHO, '--why', 'x'], PASSWORD).stderr).toMatch(/--data FOLDER/)
  })
})
