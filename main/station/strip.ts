import { Severity, type StripMark } from '../../app/contract/views.ts'
import { celsiusWords } from '../../app/live/words.ts'
import type { StepTimes } from '../../app/plan/estimate.ts'
import type { Point } from '../../app/records/point.ts'
import type { NewSessionEvent } from '../../app/records/session.ts'

/** Marks kept on a strip; a night has a few dozen, a bad one a few hundred. */
const MOST = 1_000

/** The night as it went, for the band at the top of every place. */
export class Strip {
  #marks: StripMark[] = []

  get marks(): readonly StripMark[] {
    return this.#marks
  }

  addEvent(event: NewSessionEvent): void {
    const { utcUs, words, data } = event
    const celsius = typeof data.celsius === 'number' ? data.celsius : null
    switch (event.kind) {
      case 'setpoint':
        this.#add({ kind: 'setpoint', fromUtcUs: utcUs, toUtcUs: utcUs, words, celsius })
        break
      case 'settled':
        this.#add({ kind: 'settled', fromUtcUs: utcUs, toUtcUs: utcUs, words, celsius })
        break
      case 'gap': {
        const from = typeof data.fromUtcUs === 'number' ? data.fromUtcUs : utcUs
        this.#add({ kind: 'gap', fromUtcUs: from, toUtcUs: utcUs, words, celsius: null })
        break
      }
      case 'alarm':
        this.#add({
          kind: 'alarm',
          fromUtcUs: utcUs,
          toUtcUs: utcUs,
          words,
          celsius: null,
          ...severityOf(data.severity),
        })
        break
      case 'note':
        this.#add({ kind: 'note', fromUtcUs: utcUs, toUtcUs: utcUs, words, celsius: null })
        break
      default:
    }
  }

  addPoint(point: Point): void {
    this.#add({
      kind: 'point',
      fromUtcUs: point.startUtcUs,
      toUtcUs: point.endUtcUs,
      words: `Point at ${celsiusWords(point.setpointC)}${point.marks.length > 0 ? `, marked: ${point.marks.join('; ')}` : ''}`,
      celsius: point.setpointC,
    })
  }

  #add(mark: StripMark): void {
    // Channels share one outage: their gaps are one on the strip.
    const last = this.#marks.at(-1)
    if (mark.kind === 'gap' && last?.kind === 'gap' && mark.fromUtcUs <= last.toUtcUs + 60e6) {
      this.#marks[this.#marks.length - 1] = {
        ...last,
        fromUtcUs: Math.min(last.fromUtcUs, mark.fromUtcUs),
        toUtcUs: Math.max(last.toUtcUs, mark.toUtcUs),
      }
      return
    }
    this.#marks.push(mark)
    if (this.#marks.length > MOST) this.#marks = this.#marks.slice(-MOST)
  }
}

function severityOf(said: unknown): { severity?: Severity } {
  const { success, data } = Severity.safeParse(said)
  return success ? { severity: data } : {}
}

/** What is still to come, from now on. */
export function expectedMarks(steps: readonly StepTimes[], nowUtcUs: number): StripMark[] {
  return steps.flatMap(({ celsius, startS, endS, measureS, actsS }) => {
    const at = (s: number) => Math.round(nowUtcUs + s * 1e6)
    return [
      {
        kind: 'expected-setpoint' as const,
        fromUtcUs: at(startS),
        toUtcUs: at(startS),
        words: `Expected: bath to ${celsiusWords(celsius)}`,
        celsius,
      },
      {
        kind: 'expected-point' as const,
        fromUtcUs: at(endS - actsS - measureS),
        toUtcUs: at(endS - actsS),
        words: `Expected: point at ${celsiusWords(celsius)}`,
        celsius,
      },
    ]
  })
}
