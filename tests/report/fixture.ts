/**
 * An invented comparison at the invented Quennick Temperature Laboratory, with the truth beside it. Not the wire: the
 * points are drawn from the errors that the register and the bench declare, so that hundreds of nights cost a second.
 */

import type { Conversion } from '../../app/kinds/conversion.ts'
import type { Channel } from '../../app/records/bench.ts'
import { Bench } from '../../app/records/bench.ts'
import { Plan } from '../../app/records/plan.ts'
import { Point, type PointChannel } from '../../app/records/point.ts'
import { Register } from '../../app/records/register.ts'
import type { SessionEvent } from '../../app/records/session.ts'
import { SessionInfo, SessionSetup } from '../../app/records/session.ts'
import type { AnalysisInput } from '../../app/results/analysis.ts'
import { seedOf } from '../../app/results/uncertainty-monte-carlo.ts'
import { type Random, seededRandom } from '../../app/statistics/random.ts'
import { type Prepared, prepare } from '../../app/thermometry/convert.ts'

export interface SimulationChoices {
  readonly seed: number
  readonly setpoints: readonly number[]
  /** R(WTP) of the platinum thermometers in a cell before and after: of none, of those under test, of the reference too. */
  readonly cell: 'none' | 'under-test' | 'all'
  /** Readings of each channel within a point. */
  readonly readings: number
  /** Multiplies every error that is drawn: 0 gives the truth itself. */
  readonly errors: number
  /** A thermocouple with an ice point beside the resistance thermometers, on channel x5. */
  readonly thermocouple: boolean
}

export const CHOICES: SimulationChoices = {
  seed: 1,
  setpoints: [0, 25, 50, 75, 100, 50],
  cell: 'all',
  readings: 30,
  errors: 1,
  thermocouple: false,
}

export interface Truth {
  readonly conversions: Readonly<Record<string, Conversion>>
  /** Temperature that the thermometer under test really had at a point, degC. */
  readonly celsius: Readonly<Record<string, Readonly<Record<string, number>>>>
}

export interface Simulation {
  readonly input: AnalysisInput
  readonly truth: Truth
}

const START_US = Date.parse('2026-03-01T19:00:00Z') * 1000
const HOUR_US = 3600e6

const REFERENCE: Conversion = {
  kind: 'its90',
  rWtp: '25.4812345',
  subrange: '3.3.2.3',
  coefficients: { a: -1.23e-4, b: -1.4e-5 },
}

const TRUE: Readonly<Record<string, Conversion>> = {
  x1: { kind: 'callendar-van-dusen', r0: 100.0231, a: 3.9072e-3, b: -5.771e-7, c: -4.183e-12 },
  x2: { kind: 'callendar-van-dusen', r0: 99.9812, a: 3.9091e-3, b: -5.782e-7, c: -4.183e-12 },
  x3: {
    kind: 'its90',
    rWtp: 25.512345,
    subrange: '3.3.2.4',
    coefficients: { a: -1.71e-4 },
  },
  x4: { kind: 'steinhart-hart', coefficients: [1.1286e-3, 2.3421e-4, 8.79e-8] },
  x5: { kind: 'thermocouple', type: 'T', deviation: [0, 2e-5] },
}

const LIMITS_C = { lowC: -40, highC: 250 }

/** Half-widths of the thermocouple's own errors as its budget states them, mK: wires in the bath, ice point. */
const wiresMk = (celsius: number) => 10 + (90 * Math.max(0, celsius)) / 500
const JUNCTION_MK = 20
/** Scatter of one reading of its voltage, mV. */
const VOLTAGE_SD = 2e-4

const THERMOCOUPLE = {
  id: 'thermocouple-x5',
  name: 'Thermocouple C',
  kind: 'thermocouple',
  maker: 'Quennick',
  model: 'TC-T',
  thermocoupleType: 'T',
  serial: '9120',
  owner: 'Bramblewick Dairy',
  ...LIMITS_C,
}

function registerOf({ thermocouple }: SimulationChoices): Register {
  return Register.parse({
    thermometers: [
      {
        id: 'ref-25',
        name: 'Reference SPRT Q-25',
        kind: 'sprt',
        maker: 'Quennick',
        model: 'SP-25',
        serial: '0412',
        owner: 'Quennick Temperature Laboratory',
        nominalOhm: 25.5,
        ...LIMITS_C,
        selfHeatingMk: 1.1,
        calibrations: [
          {
            id: 'ref-25-2025',
            date: '2025-06-12',
            due: '2027-06-12',
            certificate: 'QTI-2025-1187',
            laboratory: 'Quennick Institute of Thermometry',
            conversion: REFERENCE,
            uncertainty: {
              k: 2,
              points: [
                { celsius: -40, expandedMk: 1.2 },
                { celsius: 0, expandedMk: 0.6 },
                { celsius: 157, expandedMk: 1.6 },
                { celsius: 232, expandedMk: 2.2 },
              ],
            },
            ...LIMITS_C,
          },
        ],
        wtpHistory: [
          { date: '2025-06-12', ohm: '25.4812345', uOhm: 0.000008 },
          { date: '2025-12-04', ohm: '25.4812371', uOhm: 0.00001 },
        ],
      },
      ...['x1', 'x2'].map((id, i) => ({
        id: `prt-${id}`,
        name: `Industrial PRT ${i + 1}`,
        kind: 'prt',
        maker: 'Quennick',
        model: 'IP-100',
        serial: `77${i}31`,
        owner: 'Bramblewick Dairy',
        nominalOhm: 100,
        ...LIMITS_C,
        selfHeatingMk: 6,
        fit: 'callendar-van-dusen',
      })),
      {
        id: 'sprt-x3',
        name: 'Standard PRT S',
        kind: 'sprt',
        maker: 'Quennick',
        model: 'SP-25',
        serial: '0588',
        owner: 'Bramblewick Dairy',
        nominalOhm: 25.5,
        ...LIMITS_C,
        selfHeatingMk: 1.2,
        fit: 'its90',
      },
      {
        id: 'thermistor-x4',
        name: 'Thermistor T',
        kind: 'thermistor',
        maker: 'Quennick',
        model: 'TH-10k',
        serial: '3307',
        owner: 'Bramblewick Dairy',
        nominalOhm: 10000,
        currentMa: 0.01,
        ...LIMITS_C,
        selfHeatingMk: 0.4,
        fit: 'steinhart-hart',
      },
      ...(thermocouple ? [THERMOCOUPLE] : []),
    ],
    resistors: [
      { id: 'rs-100', nominal: 100, celsius: 20 },
      { id: 'rs-10k', nominal: 10000, celsius: 20 },
    ].map(({ id, nominal, celsius }) => ({
      id,
      name: `Reference resistor ${nominal} Ω`,
      maker: 'Quennick',
      serial: `R${nominal}`,
      nominalOhm: nominal,
      keptAtC: 20,
      uKeptAtK: 0.02,
      calibrations: [
        {
          id: `${id}-2025`,
          date: '2025-09-01',
          due: '2026-09-01',
          certificate: `QTI-2025-20${nominal}`,
          laboratory: 'Quennick Institute of Thermometry',
          ohm: `${nominal}.000120`,
          celsius,
          alphaPerK: 2e-6,
          driftPerYear: 2e-7,
          expandedRelative: 4e-7,
          k: 2,
          uDriftPerYear: 2e-7,
        },
      ],
    })),
    instruments: [
      {
        id: 'rb-8',
        name: 'Ratio bridge RB-8',
        role: 'ratio-bridge',
        maker: 'Quennick',
        model: 'RB-8',
        serial: '0817',
        bridge: { linearityRatio: 1e-7, resolutionRatio: 1e-7, highestRatio: 4 },
        calibrated: '2025-10-02',
        due: '2026-10-02',
        certificate: 'QTL-BC-2025-14',
      },
    ],
    fluids: [
      {
        id: 'oil-50',
        name: 'Silicone oil, 50 mm²/s',
        lowC: -40,
        highC: 200,
        flashPointC: 285,
        cautions: ['Hot oil burns; vapour above 180 °C needs extraction.'],
      },
    ],
  })
}

const channelOf = (id: string, thermometer: string, role: string, resistor: string, currentMa: number) => ({
  id,
  name: id.toUpperCase(),
  role,
  instrument: 'bridge',
  thermometer,
  reference: { kind: 'resistor', resistor },
  currentMa,
  route: [{ scanner: 'scanner', input: Number(id.slice(1)) + 1 }],
  immersionMm: 250,
})

const THERMOCOUPLE_CHANNEL = {
  id: 'x5',
  name: 'X5',
  role: 'under-test',
  instrument: 'bridge',
  thermometer: 'thermocouple-x5',
  junction: { kind: 'fixed', celsius: 0 },
  route: [{ scanner: 'scanner', input: 6 }],
  immersionMm: 300,
}

function benchOf({ thermocouple }: SimulationChoices): Bench {
  return Bench.parse({
    id: 'bench-1',
    name: 'Oil bath, room 2',
    instruments: [
      {
        id: 'bridge',
        name: 'Ratio bridge RB-8',
        profile: 'lab-rb-8',
        link: { kind: 'tcp', host: '127.0.0.1', port: 5301 },
        register: 'rb-8',
      },
    ],
    channels: [
      channelOf('s0', 'ref-25', 'reference', 'rs-100', 1),
      channelOf('x1', 'prt-x1', 'under-test', 'rs-100', 1),
      channelOf('x2', 'prt-x2', 'under-test', 'rs-100', 1),
      channelOf('x3', 'sprt-x3', 'under-test', 'rs-100', 1),
      channelOf('x4', 'thermistor-x4', 'under-test', 'rs-10k', 0.01),
      ...(thermocouple ? [THERMOCOUPLE_CHANNEL] : []),
    ],
    bath: {
      name: 'Stirred oil bath',
      fluid: 'oil-50',
      lowC: -20,
      highC: 180,
      safeC: 25,
      uniformityMk: 0.8,
      stabilityMk: 0.4,
    },
  })
}

function setupOf(choices: SimulationChoices): SessionSetup {
  return SessionSetup.parse({
    bench: benchOf(choices),
    plan: Plan.parse({
      id: 'plan-1',
      name: 'Comparison 0 °C to 100 °C',
      setpoints: choices.setpoints.map((celsius, i) => ({
        celsius,
        ...(choices.setpoints.indexOf(celsius) < i && { label: 'down' }),
      })),
      settling: { windowS: 300, driftMkPerMin: 0.5, spreadMk: 2, bandK: 0.1, holdS: 300 },
      wtpCheck: choices.cell !== 'none',
    }),
    register: registerOf(choices),
    profiles: {},
    laboratory: {
      name: 'Quennick Temperature Laboratory',
      address: ['4 Millrace Lane', '00417 Quennick'],
      country: 'IE',
      accreditation: 'invented, no accreditation',
    },
    job: {
      number: 'QTL-2026-0147',
      customer: 'Bramblewick Dairy',
      customerAddress: ['1 Churn Yard', '00233 Bramblewick'],
      received: '2026-02-24',
      remarks: ['Thermometers received clean and undamaged.'],
    },
  })
}

/** A smooth random function of temperature with unit standard deviation and a correlation length of `lengthK`. */
function smooth(random: Random, lengthK: number): (celsius: number) => number {
  const waves = Array.from({ length: 24 }, () => ({
    rate: random.normal() / lengthK,
    phase: 2 * Math.PI * random.uniform(),
  }))
  return (t) =>
    Math.sqrt(2 / 24) * waves.reduce((sum, { rate, phase }) => sum + Math.cos(rate * t + phase), 0)
}

const rectangular = (random: Random) => Math.sqrt(3) * (2 * random.uniform() - 1)

/** A bridge shows the same error at the same ratio, and another one elsewhere. */
function linearityOf(random: Random, errors: number): (ratio: number) => number {
  const seen = new Map<string, number>()
  return (ratio) => {
    const place = ratio.toFixed(3)
    const known = seen.get(place) ?? errors * 1e-7 * random.normal()
    seen.set(place, known)
    return known
  }
}

interface ChannelTruth {
  readonly channel: Channel
  readonly prepared: Prepared
  readonly nominal: Prepared
  readonly resistorOhm: number
  /** At the nominal resistance. */
  readonly selfHeatingK: number
  readonly nominalOhm: number
  readonly immersionMk: (celsius: number) => number
  /** Error of the reference junction's temperature, K. */
  readonly junctionK: number
  readonly linearity: (ratio: number) => number
}

/** One night: its session file's content, and what was true. */
export function simulate(given: Partial<SimulationChoices> = {}): Simulation {
  const choices = { ...CHOICES, ...given }
  const random = seededRandom(seedOf(`night ${choices.seed}`))
  const e = choices.errors
  const setup = setupOf(choices)
  const { register, bench } = setup
  const years = 0.24
  const wtpRelative = e * (1e-5 / 25.48) * random.normal()
  const driftRelative = e * ((1.0 * years) / 1000) * 3.989e-3 * (2 * random.uniform() - 1)
  const entryOhm = 25.4812371
  const trueReference = prepare({
    ...REFERENCE,
    rWtp: entryOhm * (1 + wtpRelative + driftRelative),
  } as Conversion)
  const calibrationError = smooth(random, 100)
  const calibrationMk = (t: number) => (e * calibrationError(t) * (0.6 + (1.0 * Math.max(0, t)) / 157)) / 2
  const resistors = new Map(
    register.resistors.map((r) => {
      const c = r.calibrations[0]!
      const elapsed = 0.4959
      const value = Number(c.ohm) * (1 + c.driftPerYear * elapsed)
      const relative =
        e *
        ((c.expandedRelative / c.k) * random.normal() +
          c.uDriftPerYear * elapsed * random.normal() +
          c.alphaPerK * r.uKeptAtK * rectangular(random))
      return [r.id, value * (1 + relative)]
    }),
  )
  const uniformity = smooth(random, 100)
  const truths = bench.channels.map((channel): ChannelTruth => {
    const thermometer = register.thermometers.find((t) => t.id === channel.thermometer)!
    const own = smooth(random, 100)
    const fraction = thermometer.kind === 'sprt' && channel.role === 'under-test' ? 0.1 : 0.2
    const immersion = { prt: 0.8, sprt: 0.2, thermistor: 0.4, thermocouple: 1, other: 1 }[thermometer.kind]
    return {
      channel,
      prepared: channel.role === 'reference' ? trueReference : prepare(TRUE[channel.id]!),
      nominal: channel.role === 'reference' ? prepare(REFERENCE) : prepare(TRUE[channel.id]!),
      resistorOhm: channel.reference?.kind === 'resistor' ? resistors.get(channel.reference.resistor)! : 1,
      nominalOhm: thermometer.nominalOhm ?? 1,
      selfHeatingK: 1e-3 * (thermometer.selfHeatingMk ?? 0) * (1 + e * fraction * random.normal()),
      immersionMk: (t) =>
        (e * (thermometer.kind === 'thermocouple' ? wiresMk(t) : immersion) * own(t)) / Math.sqrt(3),
      junctionK:
        thermometer.kind === 'thermocouple'
          ? (e * 1e-3 * JUNCTION_MK * rectangular(random)) / Math.sqrt(3)
          : 0,
      linearity: linearityOf(random, e),
    }
  })
  const celsius: Record<string, Record<string, number>> = {}
  const noiseRatio = 6e-8

  const measureVoltage = (truth: ChannelTruth, elementC: number): PointChannel => {
    const at0 = truth.prepared.toSignal(0).dValueDInput
    const exact = truth.prepared.toSignal(elementC).value - at0 * truth.junctionK
    const n = choices.readings
    let squares = 0
    for (let i = 1; i < n; i++) squares += random.normal() ** 2
    const rawMean = exact + (e * VOLTAGE_SD * random.normal()) / Math.sqrt(n)
    const rawSd = Math.max(1e-12, e * VOLTAGE_SD * Math.sqrt(squares / (n - 1)))
    const perMv = 1e3 / truth.prepared.toSignal(elementC).dValueDInput
    return {
      channel: truth.channel.id,
      firstSeq: 1,
      lastSeq: n,
      n,
      leftOut: 0,
      rawMean,
      rawSd,
      rawUnit: 'mV',
      nEffective: n,
      rawDriftPerS: 0,
      uRawDriftPerS: VOLTAGE_SD / 1000,
      signal: rawMean,
      signalZeroCurrent: null,
      selfHeatingMk: null,
      uSelfHeatingMk: null,
      t90C: null,
      sdMk: rawSd * perMv,
      driftMkPerMin: 0.05,
      uTypeAMk: (rawSd / Math.sqrt(n)) * perMv,
      referenceC: null,
      marks: [],
    }
  }

  const measure = (truth: ChannelTruth, elementC: number): PointChannel => {
    if (truth.channel.junction) return measureVoltage(truth, elementC)
    // Warmed by I^2 R: a thermistor less when it is hot, platinum more.
    const power = truth.prepared.toSignal(elementC).value / truth.nominalOhm
    const ohm = truth.prepared.toSignal(elementC + truth.selfHeatingK * power).value
    const step = 1e-7
    const exact = ohm / truth.resistorOhm + truth.linearity(ohm / truth.resistorOhm)
    const sd = noiseRatio * Math.max(1, ohm / truth.resistorOhm)
    const n = choices.readings
    const mean = exact + (e * sd * random.normal()) / Math.sqrt(n)
    let squares = 0
    for (let i = 1; i < n; i++) squares += random.normal() ** 2
    const rawSd = Math.max(1e-12, e * sd * Math.sqrt(squares / (n - 1)))
    const rawMean = e === 0 ? mean : Math.round(mean / step) * step
    const certified = register.resistors.find(
      (r) => r.id === (truth.channel.reference?.kind === 'resistor' ? truth.channel.reference.resistor : ''),
    )!.calibrations[0]!
    const signal = rawMean * Number(certified.ohm) * (1 + certified.driftPerYear * 0.4959)
    const { value, dValueDInput } = truth.nominal.toTemperature(signal)
    const isReference = truth.channel.role === 'reference'
    return {
      channel: truth.channel.id,
      firstSeq: 1,
      lastSeq: n,
      n,
      leftOut: 0,
      rawMean,
      rawSd,
      rawUnit: 'ratio',
      nEffective: n,
      rawDriftPerS: 0,
      uRawDriftPerS: sd / 1000,
      signal,
      signalZeroCurrent: null,
      selfHeatingMk: null,
      uSelfHeatingMk: null,
      t90C: isReference ? value : null,
      sdMk: rawSd * Math.abs(dValueDInput) * signal * 1e3,
      driftMkPerMin: 0.05,
      uTypeAMk: (rawSd / Math.sqrt(n) / rawMean) * Math.abs(dValueDInput) * signal * 1e3,
      referenceC: null,
      marks: [],
    }
  }

  const points: Point[] = []
  let seq = 1
  const add = (kind: Point['kind'], step: number, setpointC: number, label: string | null, hours: number) => {
    const id = kind === 'comparison' ? `p${step + 1}` : kind
    const cell = kind !== 'comparison'
    const bathC = cell ? 0.01 : setpointC + 0.004 * random.normal()
    const cellMk = cell ? (e * 0.17 * rectangular(random)) / Math.sqrt(3) : 0
    const platinum = (t: ChannelTruth) => ['its90', 'callendar-van-dusen'].includes(t.prepared.kind)
    const inCell = (t: ChannelTruth) =>
      platinum(t) && (choices.cell === 'all' || t.channel.role !== 'reference')
    const members = cell ? truths.filter(inCell) : truths
    const channels = members.map((truth) => {
      const isReference = truth.channel.role === 'reference'
      const apart = isReference || cell ? 0 : e * (0.8 * uniformity(bathC) + 0.4 * random.normal())
      const immersed = isReference || cell ? 0 : truth.immersionMk(bathC)
      const placeC = bathC + (apart + cellMk) * 1e-3
      const seenC = placeC - immersed * 1e-3 + (isReference && !cell ? -calibrationMk(bathC) * 1e-3 : 0)
      celsius[truth.channel.id] = { ...celsius[truth.channel.id], [id]: placeC }
      const at = measure(truth, seenC)
      const moved = { ...at, firstSeq: seq, lastSeq: seq + at.n - 1 }
      seq += at.n
      return moved
    })
    const own = channels.find((c) => c.channel === 's0')
    points.push(
      Point.parse({
        id,
        step: cell ? -1 : step,
        setpointC,
        label,
        kind,
        startUtcUs: START_US + hours * HOUR_US,
        endUtcUs: START_US + (hours + 0.25) * HOUR_US,
        order: 'S X1 X2 X3 X4 X4 X3 X2 X1 S',
        cycles: 3,
        settled: true,
        reason: 'settling rule held',
        channels: channels.map((c) => ({ ...c, referenceC: cell ? null : (own?.t90C ?? null) })),
        marks: [],
      }),
    )
  }
  if (choices.cell !== 'none') add('wtp-before', -1, 0.01, null, 0)
  choices.setpoints.forEach((t, i) => {
    add('comparison', i, t, choices.setpoints.indexOf(t) < i ? 'down' : 'up', 1 + 1.5 * i)
  })
  const end = 1 + 1.5 * choices.setpoints.length
  if (choices.cell !== 'none') add('wtp-after', -1, 0.01, null, end)

  const info = SessionInfo.parse({
    id: `fixture-${choices.seed}`,
    name: 'Comparison for Bramblewick Dairy',
    kind: 'comparison',
    operator: 'A. Ferrow',
    startedUtcUs: START_US,
    endedUtcUs: START_US + (end + 0.5) * HOUR_US,
    ending: 'complete',
    endingReason: null,
    program: 'Stillpoint',
    programVersion: '0.1.0',
    note: '',
  })
  const event = (n: number, kind: SessionEvent['kind'], words: string, data: Record<string, unknown>) => ({
    n,
    utcUs: START_US + n * HOUR_US,
    monoUs: n * HOUR_US,
    kind,
    who: 'station',
    subject: null,
    words,
    data,
  })
  const events: SessionEvent[] = [
    event(1, 'opened', 'Session opened.', {}),
    event(2, 'environment', 'Room 22.8 °C, 41 %, 1009 hPa.', {
      'air-temperature': '+22.80',
      humidity: 41,
      pressure: 1009,
    }),
    event(3, 'environment', 'Room 23.1 °C, 40 %, 1008 hPa.', {
      'air-temperature': 23.1,
      humidity: 40,
      pressure: 1008,
    }),
  ]
  return {
    input: { info, setup, points, events },
    truth: { conversions: TRUE, celsius },
  }
}
