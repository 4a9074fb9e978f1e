import { utcMillisecond } from '../../app/base/times.ts'
/** One line of traffic as the window keeps it. */
export interface WireLine {
  n: number
  instrument: string
  utcUs: number
  direction: 'sent' | 'received' | 'note'
  text: string
}

/** Lines kept on show; older ones are in the log on the disk. */
export const MOST_LINES = 5000

export function addLines(kept: readonly WireLine[], fresh: readonly WireLine[]): readonly WireLine[] {
  const all = [...kept, ...fresh]
  return all.length > MOST_LINES ? all.slice(all.length - MOST_LINES) : all
}

/** Lines that hold every word of the filter. */
export function filterLines(lines: readonly WireLine[], filter: string): readonly WireLine[] {
  const words = filter.toLowerCase().split(/\s+/).filter(Boolean)
  if (words.length === 0) return lines
  return lines.filter((line) => {
    const text = `${line.instrument} ${line.direction} ${line.text}`.toLowerCase()
    return words.every((word) => text.includes(word))
  })
}

export function linesText(lines: readonly WireLine[]): string {
  return lines.map((l) => `${utcMillisecond(l.utcUs)}\t${l.instrument}\t${l.direction}\t${l.text}`).join('\n')
}

/** What was typed before, walked with the arrow keys. */
export interface TypedHistory {
  lines: readonly string[]
  /** Place in the list; its length stands for the line being typed. */
  at: number
}

export const typed = (history: TypedHistory, line: string): TypedHistory => {
  const lines = [...history.lines.filter((l) => l !== line), line].slice(-100)
  return { lines, at: lines.length }
}

export function walk(history: TypedHistory, by: number): { history: TypedHistory; line: string } {
  const at = Math.min(history.lines.length, Math.max(0, history.at + by))
  return { history: { ...history, at }, line: history.lines[at] ?? '' }
}
