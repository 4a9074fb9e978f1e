import { isoUtc } from '../base/clock.ts'
import type { Analysis } from '../results/analysis.ts'
import { csvLine } from './csv.ts'

const HEAD = [
  'point',
  'kind',
  'setpoint_C',
  'label',
  'start_utc',
  'end_utc',
  'settled',
  'channel',
  'thermometer',
  'role',
  'first_seq',
  'last_seq',
  'n',
  'left_out',
  'n_effective',
  'raw_mean',
  'raw_sd',
  'raw_unit',
  'raw_drift_per_s',
  'signal_zero_current',
  'signal_unit',
  'self_heating_mK',
  't90_reference_C',
  'included',
  'residual_mK',
  'leave_one_out_mK',
  'u_mK',
  'effective_dof',
  'k',
  'U_mK',
  'marks',
]

/** points.csv: a row for each channel of each point, with what the analysis made of it. */
export function pointsCsv(analysis: Analysis): string {
  const { input, thermometers, reference } = analysis
  const lines = [csvLine(HEAD)]
  for (const point of input.points) {
    for (const at of point.channels) {
      const channel = input.setup.bench.channels.find((c) => c.id === at.channel)
      const result = thermometers.find((t) => t.record.channel.id === at.channel)
      const own = result?.points.find((p) => p.pair.point === point.id)
      const isReference = at.channel === reference.record.channel.id
      const unit = at.rawUnit === 'mV' || at.rawUnit === 'V' ? 'mV' : 'ohm'
      lines.push(
        csvLine([
          point.id,
          point.kind,
          point.setpointC,
          point.label,
          isoUtc(point.startUtcUs),
          isoUtc(point.endUtcUs),
          point.settled ? 'yes' : 'no',
          at.channel,
          channel?.thermometer ?? null,
          channel?.role ?? null,
          at.firstSeq,
          at.lastSeq,
          at.n,
          at.leftOut,
          at.nEffective,
          at.rawMean,
          at.rawSd,
          at.rawUnit,
          at.rawDriftPerS,
          own?.pair.underTest.signal ?? at.signalZeroCurrent ?? at.signal,
          unit,
          own?.pair.underTest.selfHeatingMk ?? at.selfHeatingMk,
          own?.pair.referenceC ?? (isReference ? at.t90C : at.referenceC),
          own ? (own.included ? 'yes' : 'no') : null,
          own?.residualMk ?? null,
          own?.leaveOneOutMk ?? null,
          own?.budget.u ?? null,
          own
            ? Number.isFinite(own.budget.degreesOfFreedom)
              ? own.budget.degreesOfFreedom
              : 'infinite'
            : null,
          own?.budget.k ?? null,
          own?.budget.expanded ?? null,
          at.marks.join(' '),
        ]),
      )
    }
  }
  return lines.join('')
}
