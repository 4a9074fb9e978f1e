import { checkThermometerChart, type SessionChecks } from '../../app/checks/check-history.ts'
import { bridgeChart, type ControlChart, resistorChart, wtpChart } from '../../app/checks/history.ts'
import type { ChartKind } from '../../app/contract/checks.ts'
import { StoreError } from '../store/errors.ts'
import type { Services } from './services.ts'

/** Sessions looked through for one chart, the newest first: a year and more of nights. */
const MOST_SESSIONS = 500

/** What sessions said of their check thermometers, kept: an ended session says the same until it is amended. */
const known = new WeakMap<Services, Map<string, { key: string; checks: SessionChecks }>>()

async function checksOf(services: Services, session: string): Promise<SessionChecks | undefined> {
  const found = known.get(services) ?? new Map<string, { key: string; checks: SessionChecks }>()
  known.set(services, found)
  try {
    const file = services.sessions.read(session)
    const key = `${file.points().length} ${file.events().at(-1)?.n ?? 0}`
    const before = found.get(session)
    if (before?.key === key) return before.checks
    const checks = await services.reports.ask().checks(session)
    found.set(session, { key, checks })
    return checks
  } catch (fault) {
    // A session that cannot be judged is no entry of the chart; its own place says what is wrong with it.
    if (fault instanceof StoreError) return undefined
    throw fault
  }
}

async function allChecks(services: Services, thermometer: string): Promise<SessionChecks[]> {
  const rows = services.store
    .sessions('', MOST_SESSIONS)
    .filter((row) => row.points > 0 && row.damaged === null && row.thermometers.includes(thermometer))
  const all: SessionChecks[] = []
  for (const { info } of rows) {
    const checks = await checksOf(services, info.id)
    if (checks && checks.points.length > 0) all.push(checks)
  }
  return all
}

/** The control chart of an entry of the register; undefined where there is no such entry. */
export async function chartOf(
  services: Services,
  kind: ChartKind,
  id: string,
  celsius: number | null,
): Promise<ControlChart | undefined> {
  const { thermometers, resistors, instruments } = services.store.register()
  const byId = <T extends { id: string }>(entries: readonly T[]) => entries.find((entry) => entry.id === id)
  switch (kind) {
    case 'rwtp': {
      const thermometer = byId(thermometers)
      return thermometer && wtpChart(thermometer)
    }
    case 'resistor': {
      const resistor = byId(resistors)
      return resistor && resistorChart(resistor)
    }
    case 'bridge': {
      const instrument = byId(instruments)
      return instrument && bridgeChart(instrument)
    }
    case 'check-thermometer': {
      const thermometer = byId(thermometers)
      return thermometer && checkThermometerChart(thermometer, await allChecks(services, id), celsius)
    }
  }
}
