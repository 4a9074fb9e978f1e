import { lazy, Suspense, useRef, useState } from 'react'
import { utcDay } from '../../app/base/times.ts'
import type { OrderView } from '../../app/contract/calls-orders.ts'
import { useAnswer, wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useRecords } from '../client/records.ts'
import { useStation } from '../client/state.ts'
import { FillNow } from '../orders/Fill.connect.tsx'
import { OrderNow } from '../orders/Order.connect.tsx'
import { goTo, say } from '../page/page.ts'
import { Button } from '../parts/Button.tsx'
import { draftOf } from '../plan/plan.model.ts'
import { planAct } from '../plan/plan.store.ts'
import { Watch } from '../watch/Watch.connect.tsx'
import { DeliveryNow } from './Delivery.connect.tsx'
import { Section } from './Section.tsx'
import { Standards } from './Standards.connect.tsx'
import { type SectionId, type SheetAddress, sessionOf, sheetLines, unfoldedNext } from './sheet.model.ts'

// The same parts that the places use.
const Bench = lazy(() => import('../bench/Bench.connect.tsx'))
const Plan = lazy(() => import('../plan/Plan.connect.tsx'))
const Points = lazy(() => import('../points/Points.connect.tsx'))
const Report = lazy(() =>
  import('../points/Report.connect.tsx').then(({ ReportNow }) => ({ default: ReportNow })),
)

interface Props {
  /** undefined: an order that is not saved yet. */
  view: OrderView | undefined
  address: SheetAddress
  onClose: () => void
}

/** One order from its receipt to the delivery of its certificates. */
export function Sheet({ view, address, onClose }: Props) {
  const versions = useStation((state) => state?.versions)
  const bench = useAnswer(() => station.bench.get(), [versions?.bench])
  const channels = bench.data?.channels ?? []
  const register = useRecords({
    thermometers: channels.map(({ thermometer }) => thermometer),
    resistors: channels.map(({ reference }) =>
      reference?.kind === 'resistor' ? reference.resistor : undefined,
    ),
  })
  const session = useStation((state) => state?.session ?? null)
  const runner = useStation((state) => state?.runner)
  const links = useStation((state) => state?.links)
  const today = useStation((state) => utcDay(state?.utcUs ?? 0))
  const [closed, setClosed] = useState<SectionId | null>(null)
  const lines = sheetLines({
    order: view,
    bench: bench.data ?? null,
    thermometers: register.data?.thermometers ?? [],
    resistors: register.data?.resistors ?? [],
    state: runner && links && { session, runner, links },
    today,
  })
  const known = (bench.data !== undefined && register.data !== undefined) || bench.problem !== undefined
  const unfolded = useRef<SectionId>(undefined)
  if (known) unfolded.current = unfoldedNext(lines, unfolded.current)
  const open = address.section ?? unfolded.current
  const number = view?.order.number ?? 'new'
  const go = (id: SectionId) => goTo('orders', [view?.order.id ?? 'new', id])
  const measuredIn = sessionOf(view)
  const body: Record<SectionId, () => React.ReactNode> = {
    items: () => <OrderNow view={view} item={address.item} onSaved={(id) => goTo('orders', [id])} />,
    standards: () => <Standards bench={bench.data ?? null} register={register.data} />,
    bench: () => <Bench />,
    plan: () => (
      <div className="stack">
        <FillNow onFilled={(plan) => planAct({ do: 'load', draft: draftOf(plan) })} />
        <Plan />
      </div>
    ),
    night: () => (measuredIn && view ? <Watch order={view.order.id} /> : <Watch />),
    points: () =>
      measuredIn ? (
        <div className="stack">
          <Points only={measuredIn} />
          {view && <Reviewed view={view} />}
        </div>
      ) : (
        <p className="faint">Points appear here as soon as the first one is taken.</p>
      ),
    certificate: () =>
      measuredIn ? (
        <div className="stack">
          <Report session={measuredIn} ofOrder={view?.items.map(({ item }) => item.thermometer) ?? []} />
          {view?.items.every(({ item }) => item.state === 'signed' || item.state === 'delivered') && (
            <DeliveryNow session={measuredIn} view={view} onHandedOver={() => moveAll(view, 'delivered')} />
          )}
        </div>
      ) : (
        <p className="faint">
          The certificate of each item appears here with the first points, and grows until it is signed.
        </p>
      ),
  }
  return (
    <article className="job" aria-label={`Job sheet of order ${number}`}>
      <div className="row row-apart">
        <h2 className="place-title">{view ? `Order ${number}` : 'New order'}</h2>
        <div className="row">
          <Button look="quiet" onPress={onClose}>
            All orders
          </Button>
          {view && <Button onPress={() => goTo('orders', ['new'])}>New order</Button>}
        </div>
      </div>
      {lines.map((line) => (
        <Section
          key={line.id}
          line={line}
          open={line.id === open && closed !== line.id}
          onToggle={() => {
            if (line.id === open) setClosed(closed === line.id ? null : line.id)
            else {
              setClosed(null)
              go(line.id)
            }
          }}
        >
          <Suspense fallback={<p className="faint">Opening</p>}>{body[line.id]()}</Suspense>
        </Section>
      ))}
    </article>
  )
}

/** Moves all items of an order on by one step. */
function moveAll(view: OrderView, state: 'reviewed' | 'delivered'): void {
  void Promise.all(view.items.map(({ item }) => station.orders.move({ item: item.id, state }))).then(
    () => say(state === 'reviewed' ? 'Kept as reviewed.' : 'Kept as delivered.'),
    (fault) => say(wordsOf(fault), 'problem'),
  )
}

function Reviewed({ view }: { view: OrderView }) {
  if (!view.items.some(({ item }) => item.state === 'measured')) return null
  return (
    <div>
      <Button look="main" onPress={() => moveAll(view, 'reviewed')}>
        Reviewed
      </Button>
    </div>
  )
}
