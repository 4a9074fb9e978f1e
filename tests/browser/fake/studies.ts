import type { FitView, Foretold, PlanPreview } from '../../../app/contract/studies.ts'
import type { Plan } from '../../../app/records/plan.ts'
import { noise, ohmOf, stepsOf } from './night.ts'
import type { FakeStation } from './station.ts'

export function previewOf(plan: Plan, station: FakeStation): PlanPreview {
  const steps = stepsOf(plan)
  const bath = station.bench?.bath
  const tooHot = plan.setpoints.filter((p) => bath && (p.celsius > bath.highC || p.celsius < bath.lowC))
  const totalS = steps.at(-1)?.endS ?? 0
  const channels = station.bench?.channels.length ?? 0
  return {
    steps: steps.map((s, step) => ({ step, actsS: 0, ...s })),
    totalS,
    nights: 3,
    readings: Math.round(totalS * channels * station.options.rateHz),
    bytes: totalS * channels * station.options.rateHz * 60,
    checks: [
      { id: 'disk', severity: 'fine', words: 'The disk has room for the night.', remedy: '' },
      ...(station.bench
        ? []
        : [
            {
              id: 'bench',
              severity: 'stop' as const,
              words: 'No bench is set up.',
              remedy: 'Set up a bench, or start the lab in a box.',
            },
          ]),
      ...tooHot.map((p) => ({
        id: `limit-${p.celsius}`,
        severity: 'stop' as const,
        words: `${p.celsius} °C lies outside the bath's limits (${bath!.lowC} to ${bath!.highC} °C).`,
        remedy: 'Change the setpoint, or the limits of the bath on the bench.',
      })),
      ...(channels > 1
        ? [
            {
              id: 'due-t-2',
              severity: 'warning' as const,
              words: 'The calibration of Thermometer 01 ends on 2026-12-20.',
              remedy: 'Have it calibrated, or accept that the report says so.',
            },
          ]
        : []),
    ],
  }
}

/** What three earlier nights would foretell: largest uncertainties at the ends. */
export function foretoldOf(plan: Plan, station: FakeStation): Foretold {
  const celsius = [...new Set(plan.setpoints.map((s) => s.celsius))].toSorted((a, b) => a - b)
  const under = (station.bench?.channels ?? []).filter((c) => c.role === 'under-test').slice(0, 12)
  const results = under.map((channel, i) => ({
    channel: channel.id,
    name: channel.name,
    refusal: null,
    at: celsius.map((c) => ({
      celsius: c,
      expandedMk: 3.2 + 0.1 * i + 0.02 * Math.abs(c - 50),
      k: 2,
      most: [
        { name: 'Bath: difference of places', part: 0.61 },
        { name: 'Reference: calibration', part: 0.2 },
      ],
    })),
  }))
  const [first] = results
  return {
    nights: 3,
    refusal: null,
    results,
    changes: first
      ? [
          {
            id: 'exchange',
            words: `An exchange of positions at ${celsius[0]} °C and ${celsius.at(-1)} °C: ${first.name} 4.1 to 2.6 mK; 40 min more.`,
            moreS: 2400,
            moved: [{ channel: first.channel, name: first.name, fromMk: 4.1, toMk: 2.6 }],
          },
          { id: 'setpoint', words: 'A sixth point at 115 °C: no gain; 50 min more.', moreS: 3000, moved: [] },
        ]
      : [],
    remarks: ['From the register and from 3 nights on this bench.'],
  }
}

export function fitsOf(station: FakeStation): FitView[] {
  const points = station.points()
  const channels = station.bench?.channels ?? []
  return channels.slice(1, 13).map((channel, c): FitView => {
    const r0 = 100 + 0.002 * noise(c, 1)
    const enough = points.length >= 3
    return {
      channel: channel.id,
      thermometer: channel.thermometer ?? '',
      name: channel.name,
      model: 'Callendar-Van Dusen',
      conversion: enough ? { kind: 'callendar-van-dusen', r0, a: 3.9083e-3, b: -5.775e-7 } : null,
      refusal: enough
        ? null
        : `Callendar-Van Dusen needs at least 3 points; ${points.length} of them have been taken. Wait for more.`,
      coefficients: enough
        ? [
            { name: 'R0', value: r0, u: 0.00042, k: 2.02, unit: 'ohm' },
            { name: 'A', value: 3.90831e-3, u: 1.9e-8, k: 2.02, unit: '1/K' },
            { name: 'B', value: -5.7749e-7, u: 1.1e-10, k: 2.02, unit: '1/K^2' },
          ]
        : [],
      degreesOfFreedom: Math.max(0, points.length - 3),
      residualSdMk: 1.1,
      points: points.map((point, p) => {
        const used = point.channels[c + 1]!
        const included = !station.leftOut.has(point.id) && !station.leftOut.has(`${point.id}/${channel.id}`)
        return {
          point: point.id,
          celsius: used.referenceC ?? 0,
          signal: used.signal ?? 0,
          residualMk: 1.1 * noise(c + 3, p + 5),
          leaveOneOutMk: 1.6 * noise(c + 3, p + 5),
          expandedMk: 10.4 + p * 0.4,
          k: 2.02,
          included,
          budget: [
            {
              name: 'Reference thermometer, calibration',
              uMk: 4,
              kind: 'B',
              degreesOfFreedom: null,
              source: 'Certificate Q-26-101',
            },
            { name: 'Bath, uniformity', uMk: 2, kind: 'B', degreesOfFreedom: null, source: 'Bench' },
            { name: 'Bath, stability', uMk: 1.5, kind: 'B', degreesOfFreedom: null, source: 'Bench' },
            {
              name: 'Repeatability of the reading',
              uMk: 0.09,
              kind: 'A',
              degreesOfFreedom: 40,
              source: 'Readings of this point',
            },
            {
              name: 'Ratio bridge, linearity',
              uMk: 0.05,
              kind: 'B',
              degreesOfFreedom: null,
              source: 'Certificate Q-26-014',
            },
          ],
          conformity: p === 2 ? 'Class A: conforms' : null,
        }
      }),
      hysteresis:
        points.length > 4
          ? [{ celsius: 100, first: 'up', second: 'down', differenceMk: 1.4, expandedMk: 1.9 }]
          : [],
      band: enough
        ? Array.from({ length: 31 }, (_, i) => ({
            celsius: i * 5,
            expandedMk: 9 + Math.abs(i - 15) * 0.12,
            deviationMk: ((ohmOf(i * 5) * r0) / 100 - ohmOf(i * 5)) / 0.00385 / 100,
          }))
        : [],
    }
  })
}

export function reportPage(station: FakeStation): string {
  const rows = fitsOf(station)
    .slice(0, 4)
    .map(
      (fit) =>
        `<h2>${fit.name}</h2><table><tr><th>t90 / °C</th><th>R / Ω</th><th>U / mK</th></tr>${fit.points
          .map(
            (p) =>
              `<tr><td>${p.celsius.toFixed(3)}</td><td>${p.signal.toFixed(5)}</td><td>${p.expandedMk.toFixed(1)}</td></tr>`,
          )
          .join('')}</table>`,
    )
    .join('')
  return `<!doctype html><html lang="en"><head><title>Report</title><style>body{font:14px serif;margin:2cm}table{border-collapse:collapse}td,th{border-bottom:1px solid #999;padding:4px 12px;text-align:right}</style></head><body><h1>Report of calibration</h1><p>Quennick Temperature Laboratory. Draft, not signed off.</p>${rows}</body></html>`
}
