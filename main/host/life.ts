import { utcDay } from '../../app/base/times.ts'
import { lifeOf } from '../../app/checks/life.ts'
import type { LIFE_KINDS, LifeEvent, LifeView } from '../../app/contract/life.ts'
import type { Services } from './services.ts'

/** Sessions and saves looked through for one entry, the newest first. */
const MOST = 1000

const event = (
  date: string,
  kind: LifeEvent['kind'],
  words: string,
  session: string | undefined = undefined,
  who: string | null = null,
): LifeEvent => ({ date, kind, words, who, session: session ?? null })

const part = (relative: number) => `${(relative * 1e6).toPrecision(2)} parts in a million`

function recorded(
  { store }: Services,
  kind: (typeof LIFE_KINDS)[number],
  id: string,
): LifeEvent[] | undefined {
  switch (kind) {
    case 'thermometer': {
      const own = store.records.one('thermometer', id)
      if (!own) return undefined
      return [
        ...own.calibrations.map((c) =>
          event(
            c.date,
            'calibration',
            `Calibrated: ${[c.certificate, c.laboratory].filter(Boolean).join(', ')}`,
          ),
        ),
        ...own.wtpHistory.map((w) => event(w.date, 'wtp', `R(0.01 °C) ${w.ohm} Ω, u ${w.uOhm} Ω`, w.session)),
        ...store
          .sessions('', MOST)
          .filter((row) => row.thermometers.includes(id))
          .map(({ info }) =>
            event(utcDay(info.startedUtcUs), 'session', info.name, info.id, info.operator || null),
          ),
      ]
    }
    case 'resistor': {
      const own = store.records.one('resistor', id)
      return (
        own && [
          ...own.calibrations.map((c) =>
            event(c.date, 'calibration', `${c.ohm} Ω, U ${part(c.expandedRelative)}: ${c.certificate}`),
          ),
          ...(own.comparisons ?? []).map((c) =>
            event(c.date, 'comparison', `${c.ohm} Ω against ${c.against}`, c.session),
          ),
        ]
      )
    }
    case 'instrument': {
      const own = store.records.one('instrument', id)
      return (
        own && [
          ...(own.calibrated ? [event(own.calibrated, 'calibration', own.certificate ?? 'Calibrated')] : []),
          ...(own.checks ?? []).map((c) =>
            event(
              c.date,
              'check',
              `Linearity ${(c.linearityRatio * 1e9).toPrecision(3)} parts in 10⁹, ${c.agrees ? 'within U' : 'beyond U'}`,
              c.session,
            ),
          ),
        ]
      )
    }
    case 'cell': {
      const own = store.records.one('cell', id)
      return (
        own && [
          ...(own.calibrated ? [event(own.calibrated, 'calibration', own.certificate ?? 'Calibrated')] : []),
          ...(own.plateaus ?? []).map((p) =>
            event(p.date, 'plateau', `R ${p.ohm} Ω${p.w ? `, W ${p.w}` : ''}`, p.session),
          ),
          ...(own.comparisons ?? []).map((c) =>
            event(c.date, 'comparison', `${c.differenceMk.toFixed(3)} mK from ${c.against}`),
          ),
        ]
      )
    }
  }
}

/** What an entry of the register has done over the years, the newest first; undefined where there is no such entry. */
export function lifeView(
  services: Services,
  kind: (typeof LIFE_KINDS)[number],
  id: string,
): LifeView | undefined {
  const own = recorded(services, kind, id)
  if (!own) return undefined
  const saves = services.store
    .ledger({ subject: id, most: MOST })
    .map(({ utcUs, what, why, who }) =>
      event(utcDay(utcUs), 'change', `${what}${why ? `: ${why}` : ''}`, undefined, who),
    )
  const events = [...own, ...saves].toSorted((a, b) => b.date.localeCompare(a.date))
  const thermometer = kind === 'thermometer' ? services.store.records.one('thermometer', id) : undefined
  const { curves, forecast, advice } = thermometer
    ? lifeOf(thermometer)
    : { curves: [], forecast: [], advice: null }
  return {
    events,
    curves: curves.map((c) => ({ ...c, points: c.points.map((p) => ({ ...p })) })),
    forecast: forecast.map((f) => ({ ...f })),
    advice: advice && { ...advice },
  }
}
