import type { LifeView } from '../../app/contract/life.ts'

const cell = (text: string) => (/[",\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text)

/** The life of an entry as a table for a spreadsheet: events, then the deviation of each calibration from the first. */
export function lifeCsv({ events, curves, nights }: LifeView): string {
  const rows = [
    ['date', 'what', 'which', 'who', 'session'],
    ...events.map((e) => [e.date, e.kind, e.words, e.who ?? '', e.session ?? '']),
    ...(nights.length > 0
      ? [[], ['session', 'from / degC', 'to / degC', 'settled after / s', 'time constant / s']]
      : []),
    ...nights.flatMap(({ session, steps }) =>
      steps.map(({ fromC, toC, tookS, timeConstantS }) => [
        ...[session, fromC.toFixed(3), toC.toFixed(3), tookS.toFixed(0)],
        timeConstantS === null ? '' : timeConstantS.toFixed(0),
      ]),
    ),
    [],
    ['calibrated', 'certificate', 't90 / degC', 'from the first / mK', 'U (k = 2) / mK'],
    ...curves.flatMap(({ date, certificate, points }) =>
      points.map((p) => [
        date,
        certificate,
        p.celsius.toFixed(3),
        p.differenceMk.toFixed(3),
        p.expandedMk.toFixed(3),
      ]),
    ),
  ]
  return `${rows.map((row) => row.map(cell).join(',')).join('\n')}\n`
}
