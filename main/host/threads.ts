import { counted } from '../../app/base/plural.ts'
import type { Thread } from '../../app/contract/studies.ts'
import type { FitField, PointField } from '../../app/contract/thread-keys.ts'
import type { Chain } from '../../app/live/chain.ts'
import type { PointChannel } from '../../app/records/point.ts'
import type { SessionFile } from '../store/session-file.ts'
import type { Services } from './services.ts'

type Input = Thread['inputs'][number]

const plain = (name: string, value: string | number, unit: string, words: string): Input => ({
  key: null,
  name,
  value: String(value),
  unit,
  words,
})

/** Field of a fitted point to the name the report has for it. */
const REPORT_FIELD: Record<FitField, string> = {
  signal: 'signal',
  celsius: 't90',
  residualMk: 'residual',
  deviationMk: 'residual',
  expandedMk: 'expanded',
}

/** Unfolds a number that a window shows; undefined where there is none under that key. */
export async function threadFor(
  services: Services,
  session: string,
  key: string,
): Promise<Thread | undefined> {
  const parts = key.split('/')
  if (parts[0] === 'live') return liveThread(services, session, parts[1] ?? '', parts[2] ?? '')
  if (parts[0] === 'point') {
    const at = services.sessions
      .read(session)
      .points()
      .find(({ id }) => id === parts[1])
      ?.channels.find(({ channel }) => channel === parts[2])
    return at && pointThread(services, session, key, at, parts[3] as PointField)
  }
  return (await services.reports.ask().thread(session, parts[0] === 'fit' ? fitKey(parts) : key)) ?? undefined
}

function fitKey([, channel, kind, name, field]: string[]): string {
  return kind === 'coefficient'
    ? `${channel}.coefficient.${name}`
    : `${channel}.point.${name}.${REPORT_FIELD[field as FitField] ?? ''}`
}

function resistorInputs(chain: Chain): Input[] {
  if (!chain.resistor)
    return chain.follows.map((id) => plain('Rs', id, 'channel', 'the resistance of another channel'))
  const { entry, calibration, ohm } = chain.resistor
  return [
    plain(
      'Rs',
      ohm,
      'ohm',
      `${entry.name} at ${entry.keptAtC} °C, certificate ${calibration.certificate} of ${calibration.date}`,
    ),
  ]
}

function calibrationInputs(chain: Chain): Input[] {
  const inputs: Input[] = []
  if (chain.calibration) {
    const { certificate, laboratory, date, conversion } = chain.calibration
    inputs.push(
      plain(
        'calibration',
        certificate,
        conversion.kind,
        `${laboratory}, ${date}, in force on the day of the session`,
      ),
    )
  } else inputs.push(plain('calibration', 'nominal', '', 'no calibration in the register: for watching only'))
  if (chain.wtp) inputs.push(plain('R(WTP)', chain.wtp.ohm, 'ohm', `register, ${chain.wtp.date}`))
  return inputs
}

const STEPS = {
  ratio: { formula: 'as the instrument sent it', source: 'the reading itself' },
  resistance: { formula: 'R = n Rs', source: 'definition of the ratio' },
  temperature: {
    formula: 't90 from R through the calibration in force',
    source: 'ITS-90, IEC 60751 or the certificate’s own form',
  },
} as const

function liveThread(
  services: Services,
  session: string,
  channel: string,
  quantity: string,
): Thread | undefined {
  const view = services.station.state().channels.find(({ id }) => id === channel)
  const chain = services.sessions.chains(session).get(channel)
  if (!view || !chain || !(quantity in STEPS)) return undefined
  const step = STEPS[quantity as keyof typeof STEPS]
  const shown =
    quantity === 'ratio' ? view.ratio : quantity === 'resistance' ? view.resistance : view.temperature
  const reading = plain(
    `reading ${view.lastSeq ?? ''}`,
    view.raw ?? '',
    view.rawUnit,
    'raw text as it was sent',
  )
  const inputs = [
    reading,
    ...(quantity === 'ratio' ? [] : resistorInputs(chain)),
    ...(quantity === 'temperature' ? calibrationInputs(chain) : []),
  ]
  return {
    key: `live/${channel}/${quantity}`,
    name: `${view.name}, ${quantity}`,
    value: shown.value === null ? 'none' : String(shown.value),
    unit: shown.unit,
    ...step,
    inputs,
    readings:
      view.lastSeq === null ? null : { channel, firstSeq: view.lastSeq, lastSeq: view.lastSeq, count: 1 },
  }
}

const POINT_STEPS: Record<PointField, { name: string; unit: string; formula: string; source: string }> = {
  signal: { name: 'signal', unit: 'ohm', formula: 'mean of n × Rs', source: 'definition of the ratio' },
  t90C: {
    name: 'temperature',
    unit: 'degC',
    formula: 't90 of the mean signal through the calibration in force',
    source: 'certificate of the thermometer',
  },
  referenceC: {
    name: 'reference temperature',
    unit: 'degC',
    formula: "the reference's temperature interpolated to the times of this channel's readings",
    source: 'common practice, no source',
  },
  uTypeAMk: {
    name: 'standard uncertainty, type A',
    unit: 'mK',
    formula: 's / sqrt(n effective)',
    source: 'JCGM 100:2008, 4.2.3; effective number from the autocorrelation',
  },
  sdMk: {
    name: 'standard deviation',
    unit: 'mK',
    formula: 's = sqrt(Σ (q − mean)² / (n − 1))',
    source: 'JCGM 100:2008, 4.2.2',
  },
  driftMkPerMin: {
    name: 'drift',
    unit: 'mK/min',
    formula: 'slope of the least-squares line',
    source: 'definition',
  },
}

function pointThread(
  services: Services,
  session: string,
  key: string,
  at: PointChannel,
  field: PointField,
): Thread | undefined {
  const step = POINT_STEPS[field]
  const value = at[field]
  if (!step) return undefined
  const file: SessionFile = services.sessions.read(session)
  const chain = services.sessions.chains(session).get(at.channel)
  const name = file.setup.bench.channels.find(({ id }) => id === at.channel)?.name ?? at.channel
  return {
    key,
    name: `${name}, ${step.name}`,
    value: value === null ? 'none' : String(value),
    unit: field === 'signal' && chain?.signalUnit === 'mV' ? 'mV' : step.unit,
    formula: step.formula,
    source: step.source,
    inputs: [
      plain(
        'mean of the raw values',
        at.rawMean,
        at.rawUnit,
        `${counted(at.n, 'reading')}, ${at.leftOut} left out`,
      ),
      plain('standard deviation', at.rawSd, at.rawUnit, `effective number ${at.nEffective.toPrecision(3)}`),
      ...(chain && (field === 'signal' || field === 't90C') ? resistorInputs(chain) : []),
      ...(chain && field === 't90C' ? calibrationInputs(chain) : []),
    ],
    readings: { channel: at.channel, firstSeq: at.firstSeq, lastSeq: at.lastSeq, count: at.n + at.leftOut },
  }
}
