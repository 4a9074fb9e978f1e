import type { Disposable } from '../../app/base/clock.ts'

/** Listeners of one kind of event. */
export class Signal<T> {
  readonly #listeners = new Set<(value: T) => void>()

  on(listener: (value: T) => void): Disposable {
    this.#listeners.add(listener)
    return { dispose: () => this.#listeners.delete(listener) }
  }

  emit(value: T): void {
    for (const listener of [...this.#listeners]) listener(value)
  }

  get size(): number {
    return this.#listeners.size
  }
}

/** Lets one user at a time through, in the order they came. */
export class Turnstile {
  #tail: Promise<void> = Promise.resolve()

  /** Resolves with a function that lets the next one in. */
  async enter(): Promise<() => void> {
    const before = this.#tail
    let leave = () => {}
    this.#tail = new Promise((resolve) => {
      leave = resolve
    })
    await before
    return leave
  }
}
