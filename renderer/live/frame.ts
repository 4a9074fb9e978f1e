/** One scheduler for everything that is painted outside React: a frame is asked for once, however much arrives. */

export type Painter = (atMs: number) => void

/** Who paints in which frame after a waking: numbers first, plots in the next. No frame then carries the work of both. */
export type Turn = 'numbers' | 'plots'
const TURNS: readonly Turn[] = ['numbers', 'plots']

export class Frames {
  readonly #painters: Record<Turn, Set<Painter>> = { numbers: new Set(), plots: new Set() }
  /** Turns that are yet to come. */
  readonly #due = new Set<Turn>()
  readonly #after = new Set<() => void>()
  #asked = false
  readonly #request: (callback: (atMs: number) => void) => void

  constructor(
    request: (callback: (atMs: number) => void) => void = (callback) => requestAnimationFrame(callback),
  ) {
    this.#request = request
  }

  /** Paints in its turn whenever woken, until disposed. */
  add(painter: Painter, turn: Turn = 'numbers'): { dispose(): void } {
    this.#painters[turn].add(painter)
    this.wake()
    return { dispose: () => void this.#painters[turn].delete(painter) }
  }

  /** Calls once, when everything that is to be painted from now on has been. */
  afterPaint(act: () => void): void {
    this.#after.add(act)
    this.wake()
  }

  wake(): void {
    for (const turn of TURNS) this.#due.add(turn)
    this.#ask()
  }

  #ask(): void {
    if (this.#asked) return
    this.#asked = true
    this.#request((atMs) => this.#paint(atMs))
  }

  #paint(atMs: number): void {
    this.#asked = false
    const turn = TURNS.find((name) => this.#due.has(name) && this.#painters[name].size > 0)
    if (turn === undefined) this.#due.clear()
    else {
      this.#due.delete(turn)
      for (const paint of this.#painters[turn]) paint(atMs)
    }
    const more = TURNS.some((name) => this.#due.has(name) && this.#painters[name].size > 0)
    if (more) {
      this.#ask()
      return
    }
    for (const act of this.#after) act()
    this.#after.clear()
  }
}

export const frames = new Frames()
