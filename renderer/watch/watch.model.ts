import { first } from '../../app/base/lists.ts'
import type { ChannelView, StripMark } from '../../app/contract/views.ts'
import { lookOf, SHOWN_WORDS, type Shown, type Sight, type Units, unitOf } from '../live/quantity.ts'
import type { TimeWindow } from '../plots/hooks.ts'
import type { PaneLine, PaneSpec } from '../plots/spec.ts'

/** What a person chose to see on Watch. */
export interface WatchChoice extends Sight {
  hidden: readonly string[]
  /** The one channel that is shown as big as fits; null: all are. */
  one: string | null
  arrange: 'together' | 'role' | 'each'
  axis: 'shared' | 'own'
  /** Follow the newest reading with so many seconds in view, or hold a window of time. */
  follow: boolean
  spanS: number
  held: TimeWindow | null
  selected: TimeWindow | null
  cursors: readonly number[]
}

export const FIRST_CHOICE: WatchChoice = {
  shown: 'own',
  base: null,
  hidden: [],
  one: null,
  arrange: 'together',
  axis: 'shared',
  follow: true,
  spanS: 900,
  held: null,
  selected: null,
  cursors: [],
}

export type WatchAct =
  | { do: 'show'; shown: Shown }
  | { do: 'base'; base: string | null }
  | { do: 'toggle'; channel: string }
  | { do: 'only'; channel: string; all: readonly string[] }
  | { do: 'all' }
  | { do: 'one'; channel: string | null }
  | { do: 'arrange'; arrange: WatchChoice['arrange'] }
  | { do: 'axis'; axis: WatchChoice['axis'] }
  | { do: 'follow'; spanS?: number }
  | { do: 'hold'; window: TimeWindow; newest: number }
  | { do: 'zoom'; factor: number; newest: number }
  | { do: 'move'; part: number; newest: number }
  | { do: 'select'; window: TimeWindow | null }
  | { do: 'cursor'; time: number }
  | { do: 'clear-cursors' }

const LEAST_SPAN_S = 5
export const SPANS: readonly { id: string; name: string; s: number }[] = [
  { id: '120', name: '2 min', s: 120 },
  { id: '900', name: '15 min', s: 900 },
  { id: '3600', name: '1 h', s: 3600 },
  { id: '14400', name: '4 h', s: 14_400 },
  { id: '43200', name: '12 h', s: 43_200 },
]

export function watchReduce(choice: WatchChoice, act: WatchAct): WatchChoice {
  switch (act.do) {
    case 'show':
      return { ...choice, shown: act.shown }
    case 'base':
      return { ...choice, base: act.base }
    case 'toggle':
      return {
        ...choice,
        hidden: choice.hidden.includes(act.channel)
          ? choice.hidden.filter((id) => id !== act.channel)
          : [...choice.hidden, act.channel],
      }
    case 'only':
      return { ...choice, hidden: act.all.filter((id) => id !== act.channel) }
    case 'all':
      return { ...choice, hidden: [] }
    case 'one':
      return { ...choice, one: act.channel }
    case 'arrange':
      return { ...choice, arrange: act.arrange }
    case 'axis':
      return { ...choice, axis: act.axis }
    case 'follow':
      return { ...choice, follow: true, held: null, spanS: act.spanS ?? choice.spanS }
    case 'hold': {
      const span = Math.max(LEAST_SPAN_S, act.window.to - act.window.from)
      const middle = (act.window.to + act.window.from) / 2
      // Not past the newest reading: beyond it lies nothing to see.
      const to = Math.min(act.newest, middle + span / 2)
      return { ...choice, follow: false, held: { from: to - span, to }, spanS: span }
    }
    case 'zoom': {
      if (choice.follow) return { ...choice, spanS: Math.max(LEAST_SPAN_S, choice.spanS * act.factor) }
      const { from, to } = choice.held!
      const middle = (from + to) / 2
      const half = ((to - from) / 2) * act.factor
      return watchReduce(choice, {
        do: 'hold',
        window: { from: middle - half, to: middle + half },
        newest: act.newest,
      })
    }
    case 'move': {
      const now = windowOf(choice, act.newest)
      const by = (now.to - now.from) * act.part
      return watchReduce(choice, {
        do: 'hold',
        window: { from: now.from + by, to: now.to + by },
        newest: act.newest,
      })
    }
    case 'select':
      return { ...choice, selected: act.window }
    case 'cursor':
      return { ...choice, cursors: choice.cursors.length >= 2 ? [act.time] : [...choice.cursors, act.time] }
    case 'clear-cursors':
      return { ...choice, cursors: [] }
  }
}

/** The window of time in view; `newest` is the newest reading's time. */
export function windowOf(choice: WatchChoice, newest: number): TimeWindow {
  return choice.follow || !choice.held ? { from: newest - choice.spanS, to: newest } : choice.held
}

export interface PaneView {
  id: string
  title: string
  spec: PaneSpec
}

const ROLE_TITLES: Record<ChannelView['role'], string> = {
  reference: 'Reference',
  'under-test': 'Under test',
  check: 'Check',
  monitor: 'Monitors',
}

type Plottable = Pick<ChannelView, 'id' | 'name' | 'role'> & Units

/** Whether a channel's line is drawn: the one that is shown big, else those that nobody took out. */
const isInPlot = ({ one, hidden }: WatchChoice, channel: string): boolean =>
  one === null ? !hidden.includes(channel) : one === channel

/** The channels to show: all, or the one that was chosen, as long as it is there. */
export function chosenOf<C extends { id: string }>(
  channels: readonly C[],
  { one }: Pick<WatchChoice, 'one'>,
): readonly C[] {
  const found = channels.find(({ id }) => id === one)
  return found ? [found] : channels
}

/** Divides the channels among plots. */
export function panesOf(channels: readonly Plottable[], choice: WatchChoice): PaneView[] {
  const visible = channels
    .map((channel, look) => ({ channel, look }))
    // The base differs from itself by nothing.
    .filter(({ channel }) => isInPlot(choice, channel.id) && channel.id !== choice.base)
  const shownUnit = (channel: Plottable) => unitOf(choice.shown, channel, choice.base !== null)
  const spec = (part: typeof visible): PaneSpec => ({
    lines: part.map(({ channel, look }): PaneLine => ({ channel: channel.id, name: channel.name, look })),
    shown: choice.shown,
    unit: part[0] ? shownUnit(part[0].channel) : '',
    base: choice.base,
    axis: choice.axis,
  })
  if (visible.length === 0) return []
  if (choice.arrange === 'each')
    return visible.map((one) => ({ id: one.channel.id, title: one.channel.name, spec: spec([one]) }))
  const parts =
    choice.arrange === 'role'
      ? [...new Set(visible.map(({ channel }) => channel.role))].map((role) => ({
          id: role,
          title: ROLE_TITLES[role],
          part: visible.filter(({ channel }) => channel.role === role),
        }))
      : [{ id: 'all', title: '', part: visible }]
  // What has another unit cannot stand on the same axis.
  return parts.flatMap(({ id, title, part }) => {
    const units = [...new Set(part.map(({ channel }) => shownUnit(channel)))]
    return units.map((unit, i) => {
      const same = part.filter(({ channel }) => shownUnit(channel) === unit)
      const own = SHOWN_WORDS[lookOf(choice.shown, first(same).channel.unit).quantity]
      return { id: i === 0 ? id : `${id} ${unit}`, title: title || own, spec: spec(same) }
    })
  })
}

/** Setpoint in force at a moment (s UTC), from the strip. */
export function setpointAt(strip: readonly StripMark[], time: number): number {
  const utcUs = time * 1e6
  const mark = strip.findLast((m) => m.kind === 'setpoint' && m.fromUtcUs <= utcUs)
  return mark?.celsius ?? Number.NaN
}

/** One, few or many: decides how big a number may be. */
export function crowd(count: number): 'one' | 'few' | 'some' | 'many' {
  if (count <= 1) return 'one'
  if (count <= 6) return 'few'
  return count <= 16 ? 'some' : 'many'
}
