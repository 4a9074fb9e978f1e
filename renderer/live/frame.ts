/** One scheduler for everything that is painted outside React: a frame is asked for once, however much arrives. */

export type Painter = (atMs: number) => void

export class Frames {
  readonly #painters = new Set<Painter>()
  #asked = false
  readonly #request: (callback: (atMs: number) => void) => void

  constructor(
    request: (callback: (atMs: number) => void) => void = (callback) => requestAnimationFrame(callback),
  ) {
    this.#request = request
  }

  /** Paints with every frame that is woken, until disposed. */
  add(painter: Painter): { dispose(): void } {
    this.#painters.add(painter)
    this.wake()
    return { dispose: () => void this.#painters.delete(painter) }
  }

  wake(): void {
    if (this.#asked) return
    this.#asked = true
    this.#request((atMs) => {
      this.#asked = false
      for (const paint of this.#painters) paint(atMs)
    })
  }
}

export const frames = new Frames()
