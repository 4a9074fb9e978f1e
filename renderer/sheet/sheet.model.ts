import { counted } from '../../app/base/plural.ts'
import type { OrderView } from '../../app/contract/calls-orders.ts'
import type { StationState } from '../../app/contract/views.ts'
import type { Bench } from '../../app/records/bench.ts'
import { ITEM_STATE_WORDS } from '../../app/records/order-table.ts'
import { inForce, type Resistor, type Thermometer } from '../../app/records/register.ts'

/** Parts of a job sheet, in the order of the work. */
export const SECTIONS = [
  { id: 'items', title: 'Order and items' },
  { id: 'standards', title: 'Reference and resistor' },
  { id: 'bench', title: 'Bench' },
  { id: 'plan', title: 'Plan' },
  { id: 'night', title: 'Night' },
  { id: 'points', title: 'Points, fit and budget' },
  { id: 'certificate', title: 'Certificate' },
] as const
export type SectionId = (typeof SECTIONS)[number]['id']

/** Where on which job sheet the window is. */
export interface SheetAddress {
  readonly order: string
  readonly section: SectionId | undefined
  /** An item that is pointed at. */
  readonly item: string | undefined
}

/** What an address says: #orders/<order>, #orders/<order>/<section>, #orders/<order>/items/<item>; undefined: all orders. */
export function readSheetPath([order, name, item]: readonly string[]): SheetAddress | undefined {
  if (order === undefined) return undefined
  const section = SECTIONS.find(({ id }) => id === name)?.id
  return { order, section, item: section === 'items' ? item : undefined }
}

/** Whose turn it is: somebody's here, the station's, or nobody's because it is done or something comes first. */
export type Turn = 'yours' | 'station' | 'done' | 'later'
export const TURN_WORDS: Readonly<Record<Turn, string>> = {
  yours: 'your turn',
  station: 'the station works',
  done: 'done',
  later: 'comes later',
}

export interface SectionLine {
  readonly id: SectionId
  readonly title: string
  /** What is there and what is missing. */
  readonly words: string
  readonly turn: Turn
}

export interface SheetMatter {
  readonly order: OrderView | undefined
  readonly bench: Bench | null
  readonly thermometers: readonly Thermometer[]
  readonly resistors: readonly Resistor[]
  readonly state: Pick<StationState, 'session' | 'runner' | 'links'> | undefined
  readonly today: string
}

/** The order's session: the one that its items were measured in, or are on the bench for. */
export const sessionOf = (order: OrderView | undefined): string | undefined =>
  order?.items.find(({ item }) => item.session !== undefined)?.item.session

const REACHED = ['received', 'on-bench', 'measured', 'reviewed', 'signed', 'delivered'] as const
type State = (typeof REACHED)[number]

/** Whether every item has come as far as a state. */
function allAt(order: OrderView | undefined, state: State): boolean {
  const items = order?.items ?? []
  return items.length > 0 && items.every(({ item }) => REACHED.indexOf(item.state) >= REACHED.indexOf(state))
}

/** What a job sheet says of each of its parts before it is unfolded. */
export function sheetLines(matter: SheetMatter): SectionLine[] {
  const { order } = matter
  const measured = allAt(order, 'measured')
  const words = {
    items: itemsLine(order),
    standards: standardsLine(matter),
    bench: benchLine(matter),
    plan: planLine(matter, measured),
    night: nightLine(matter, measured),
    points: pointsLine(order, measured),
    certificate: certificateLine(order, measured),
  }
  return SECTIONS.map(({ id, title }) => ({ id, title, ...words[id] }))
}

const isOn = ({ turn }: SectionLine): boolean => turn === 'yours' || turn === 'station'

/**
 * The part that a sheet unfolds by itself: the first whose turn it is. One that was unfolded stays until it is done, whatever
 * comes up before it meanwhile: nobody's field goes away under the hands.
 */
export function unfoldedNext(lines: readonly SectionLine[], before: SectionId | undefined): SectionId {
  const same = lines.find(({ id }) => id === before)
  return same && isOn(same) ? same.id : (lines.find(isOn)?.id ?? 'items')
}

type Said = Pick<SectionLine, 'words' | 'turn'>
const said = (words: string, turn: Turn): Said => ({ words, turn })

function itemsLine(order: OrderView | undefined): Said {
  if (!order) return said('Not saved yet: enter the customer and the thermometers.', 'yours')
  const states = new Map<State, number>()
  for (const { item } of order.items) states.set(item.state, (states.get(item.state) ?? 0) + 1)
  const where = REACHED.flatMap((state) => {
    const n = states.get(state)
    return n === undefined ? [] : [`${n} ${ITEM_STATE_WORDS[state]}`]
  })
  return said(
    `${order.customer?.name ?? 'No customer'}, ${counted(order.items.length, 'item')}: ${where.join(', ')}.`,
    'done',
  )
}

function standardsLine({ bench, thermometers, resistors, today }: SheetMatter): Said {
  const channel = bench?.channels.find(({ role, enabled }) => role === 'reference' && enabled)
  const reference = thermometers.find(({ id }) => id === channel?.thermometer)
  if (!reference)
    return said(
      thermometers.length === 0
        ? 'The register has no reference thermometer: enter or import it with its certificate.'
        : 'No channel of the bench names a reference thermometer yet.',
      'yours',
    )
  const calibration = inForce(reference.calibrations, today)
  if (!calibration) return said(`${reference.name} has no calibration: enter its certificate.`, 'yours')
  const late = calibration.due !== undefined && calibration.due < today
  const resistorId = channel?.reference?.kind === 'resistor' ? channel.reference.resistor : undefined
  const resistor = resistors.find(({ id }) => id === resistorId)
  if (resistorId !== undefined && !(resistor && inForce(resistor.calibrations, today)))
    return said(
      `${resistor?.name ?? 'The reference resistor'} has no calibration: enter its certificate.`,
      'yours',
    )
  return said(
    `${reference.name}, ${calibration.certificate || 'certificate without a number'}${calibration.due ? `, ${late ? 'was due' : 'due'} ${calibration.due}` : ''}${resistor ? `; ${resistor.name}` : ''}.`,
    late ? 'yours' : 'done',
  )
}

function benchLine({ bench, state }: SheetMatter): Said {
  if (!bench || bench.instruments.length === 0)
    return said('No instrument yet: find those that answer, and save.', 'yours')
  if (bench.channels.length === 0)
    return said(`${counted(bench.instruments.length, 'instrument')}, no channel yet.`, 'yours')
  const links = state?.links ?? []
  const lost = links.filter((link) => link.state === 'lost')
  if (lost.length > 0) return said(`No answer from ${lost.map(({ name }) => name).join(', ')}.`, 'yours')
  const ready = links.filter((link) => link.state === 'ready').length
  return said(
    `${bench.name}: ${counted(bench.channels.filter(({ enabled }) => enabled).length, 'channel')}, ${ready} of ${counted(links.length, 'link')} ready.`,
    'done',
  )
}

const isRunning = ({ state, order }: SheetMatter): boolean =>
  state?.session != null && state.session.id === sessionOf(order)

function planLine(matter: SheetMatter, measured: boolean): Said {
  const { order } = matter
  if (isRunning(matter)) return said('The night runs by it.', 'done')
  if (measured) return said('Every item has been measured.', 'done')
  if (!order) return said('Once the order is saved.', 'later')
  const waiting = order.items.filter(({ item }) => item.state === 'received').length
  return waiting > 0
    ? said(`${counted(waiting, 'item waits', 'items wait')} for a place in the bath: fill it.`, 'yours')
    : said('The bath is filled: look at the night and start it.', 'yours')
}

function nightLine(matter: SheetMatter, measured: boolean): Said {
  if (isRunning(matter)) return said(matter.state!.runner.words, 'station')
  if (measured) return said('The night is over.', 'done')
  return said('Not started yet.', 'later')
}

function pointsLine(order: OrderView | undefined, measured: boolean): Said {
  if (allAt(order, 'reviewed')) return said('Looked through.', 'done')
  if (measured) return said('Look through points, fits and budget, then say that they are reviewed.', 'yours')
  return said(sessionOf(order) ? 'Points come as they are taken.' : 'Once the night has begun.', 'later')
}

function certificateLine(order: OrderView | undefined, measured: boolean): Said {
  if (allAt(order, 'delivered')) return said('Delivered.', 'done')
  if (allAt(order, 'signed')) return said('Signed: hand them over.', 'yours')
  return measured ? said('A draft until it is signed.', 'yours') : said('Grows with the order.', 'later')
}
