import { checkThermometerChart } from '../../app/checks/check-history.ts'
import type { ControlChart } from '../../app/checks/control-chart.ts'
import { bridgeChart, resistorChart, wtpChart } from '../../app/checks/history.ts'
import type { ChartKind } from '../../app/contract/checks.ts'
import type { Services } from './services.ts'

/** How long a chart waits for sessions that were not looked at yet, ms; after that it says how many there still are. */
const WAIT_MS = 5_000

/** A control chart, and how many sessions are still to be looked through for it. */
export interface ChartFound {
  chart: ControlChart
  pending: number
}

const whole = (chart: ControlChart | undefined): ChartFound | undefined => chart && { chart, pending: 0 }

/** The control chart of an entry of the register; undefined where there is no such entry. */
export async function chartOf(
  { store, checks }: Services,
  { kind, id, celsius }: { kind: ChartKind; id: string; celsius: number | null },
  signal?: AbortSignal,
): Promise<ChartFound | undefined> {
  switch (kind) {
    case 'rwtp': {
      const thermometer = store.records.one('thermometer', id)
      return whole(thermometer && wtpChart(thermometer))
    }
    case 'resistor': {
      const resistor = store.records.one('resistor', id)
      return whole(resistor && resistorChart(resistor))
    }
    case 'bridge': {
      const instrument = store.records.one('instrument', id)
      return whole(instrument && bridgeChart(instrument))
    }
    case 'check-thermometer': {
      const thermometer = store.records.one('thermometer', id)
      if (!thermometer) return undefined
      const found = await checks.of(id, WAIT_MS, signal)
      return { chart: checkThermometerChart(thermometer, found.checks, celsius), pending: found.pending }
    }
  }
}
