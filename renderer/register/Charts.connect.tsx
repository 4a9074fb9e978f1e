import type { ChartKind } from '../../app/contract/checks.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { usePage } from '../shell/page.ts'
import { ControlChart } from './ControlChart.tsx'
import type { Shelf } from './register.model.ts'

/** What is watched over the years, by shelf. */
const KINDS: Record<Shelf, readonly ChartKind[]> = {
  thermometers: ['rwtp', 'check-thermometer'],
  resistors: ['resistor'],
  instruments: ['bridge'],
  fluids: [],
}

export function Charts({ shelf, id }: { shelf: Shelf; id: string }) {
  return KINDS[shelf].map((kind) => <ChartOf key={kind} kind={kind} id={id} />)
}

function ChartOf({ kind, id }: { kind: ChartKind; id: string }) {
  const theme = usePage((state) => state.theme)
  const version = useStation((state) => state?.versions.register)
  const { data } = useAnswer(() => station.checks.history({ kind, id }), [kind, id, version])
  // An entry that is not of this kind has no such chart; the station says so and nothing is drawn.
  return data ? <ControlChart chart={data} theme={theme} /> : null
}
