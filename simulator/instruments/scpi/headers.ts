import type { Args } from './message.ts'

/** A wait until a moment of the clock, then what the command gives. */
export class Wait {
  readonly untilUs: number
  readonly finish: () => string | undefined
  constructor(untilUs: number, finish: () => string | undefined) {
    this.untilUs = untilUs
    this.finish = finish
  }
}

export type Outcome = string | undefined | Wait

type Act = (args: Args) => Outcome

export interface Command {
  /** As SCPI prints it: 'SENSe:AVERage:COUNt', optional nodes as '[:LEVel]' or '[SOURce:]'. */
  header: string
  /** Sets something; says nothing. */
  tell?: (args: Args) => void
  /** Says nothing, but holds up what follows. */
  hold?: () => Outcome
  ask?: (args: Args) => Outcome
}

/** Every way of writing a header, upper case: optional nodes in or out, each node long or short. */
export function spellings(header: string): string[] {
  const optional = /\[([^\]]+)\]/.exec(header)
  if (optional) {
    const before = header.slice(0, optional.index)
    const after = header.slice(optional.index + optional[0].length)
    return [...spellings(before + after), ...spellings(before + optional[1] + after)]
  }
  let written = ['']
  for (const [i, node] of header.split(':').entries()) {
    const forms = new Set([node.toUpperCase(), node.replace(/[a-z]/g, '')])
    written = written.flatMap((start) => [...forms].map((form) => (i === 0 ? form : `${start}:${form}`)))
  }
  return written
}

/** Looks commands up by what was written; a header that is not absolute continues the path of the one before it. */
export class CommandTable {
  readonly #byHeader = new Map<string, Act>()

  constructor(commands: readonly Command[]) {
    for (const { header, tell, hold, ask } of commands) {
      for (const spelling of spellings(header)) {
        if (tell) {
          this.#byHeader.set(spelling, (args) => {
            tell(args)
            return undefined
          })
        }
        if (hold) this.#byHeader.set(spelling, hold)
        if (ask) this.#byHeader.set(`${spelling}?`, ask)
      }
    }
  }

  find(header: string): Act | undefined {
    return this.#byHeader.get(header)
  }
}

/** The level at which the next header continues: everything before the last colon. */
export function pathOf(header: string): string {
  const end = header.lastIndexOf(':')
  return end < 0 ? '' : header.slice(0, end + 1)
}
