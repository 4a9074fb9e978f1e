import type { ChannelRecord } from '../results/analysis-channel.ts'
import { type Loom, meanInput, plain, readingsOf, resistorInput, type Unfolded } from './provenance-parts.ts'

/** R(0.01 °C) of a channel at a point of the session, or its change. */
export function wtpThread(record: ChannelRecord, point: string, loom: Loom): Unfolded {
  const at = loom.analysis.input.points
    .find((p) => p.id === point)
    ?.channels.find((c) => c.channel === record.channel.id)
  const prefix = record.channel.role === 'reference' ? 'reference' : record.channel.id
  if (!at) {
    const others = Object.keys(loom.report.numbers).filter(
      (key) => key.startsWith(`${prefix}.wtp.`) && !key.endsWith('.change'),
    )
    return {
      formula: '(R after − R before) / (dR/dt)',
      source: 'definition',
      inputs: others.map((key) => loom.pull(key, 'measured')),
    }
  }
  return {
    formula: 'R(0.01 °C) = n Rs − (dR/dt) Δt, Δt the self-heating',
    source: 'definition of the ratio',
    inputs: [meanInput(at), ...resistorInput(record, loom)],
    readings: readingsOf(at),
  }
}

/** The value of a reference resistor on the day. */
export function ofResistor(id: string, loom: Loom): Unfolded | null {
  const { reference, thermometers, date } = loom.analysis
  const found = [reference.record, ...thermometers.map((t) => t.record)].find(
    (r) => r.resistor?.record.id === id,
  )
  if (!found?.resistor) return null
  const { calibration, record } = found.resistor
  const words = `certificate ${calibration.certificate} of ${calibration.laboratory}, ${calibration.date}`
  return {
    formula: 'Rs = Rcal [1 + α (T − Tcal) + β (T − Tcal)²] [1 + drift (date − date of calibration)]',
    source: "common practice, no source (the certificate's own temperature coefficients and drift)",
    inputs: [
      plain('Rcal', calibration.ohm, 'Ω', words),
      plain('Tcal', calibration.celsius, '°C', words),
      plain('T', record.keptAtC, '°C', `temperature at which the resistor is kept, u = ${record.uKeptAtK} K`),
      plain('α', calibration.alphaPerK, '1/K', words),
      plain('β', calibration.betaPerK2, '1/K²', words),
      plain('drift', calibration.driftPerYear, '1/a', `u = ${calibration.uDriftPerYear} per year`),
      plain('date', date, 'day', 'day of the session'),
      plain('U/Rcal', calibration.expandedRelative, '1', `k = ${calibration.k}`),
    ],
  }
}

/** Numbers under `reference.`: its R(0.01 °C) and its calibration. */
export function ofReference(rest: string, loom: Loom): Unfolded | null {
  const { reference } = loom.analysis
  if (rest.startsWith('wtp.')) return wtpThread(reference.record, rest.slice(4), loom)
  if (rest === 'rWtp') {
    if (reference.sessionWtp) {
      return {
        formula: 'mean of the measurements in this session',
        source: 'measured',
        inputs: reference.sessionWtp.points.map((p) => loom.pull(`reference.wtp.${p}`, `point ${p}`)),
      }
    }
    const entry = reference.record.wtp
    return {
      formula: 'entry in force: the newest not after the day of the session',
      source: 'register',
      inputs: entry ? [plain(`R(0.01 °C), ${entry.date}`, entry.ohm, 'Ω', entry.note ?? 'register')] : [],
    }
  }
  return null
}
