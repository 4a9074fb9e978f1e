/** Beats without a word after which the station counts as silent, and after which the link is given up for a new one. */
const SILENT_BEATS = 6
const RENEW_BEATS = 30

/**
 * Notices that a link stands and yet nothing comes over it. Counted in beats of this page's own, a second each, so that a
 * page that slept does not take its sleep for the station's silence.
 */
export class Silence {
  #beats = 0
  readonly #onSilent: () => void
  readonly #onLong: () => void

  constructor(onSilent: () => void, onLong: () => void) {
    this.#onSilent = onSilent
    this.#onLong = onLong
  }

  /** The station has said something, or the link is new. */
  heard(): void {
    this.#beats = 0
  }

  beat(): void {
    this.#beats += 1
    if (this.#beats === SILENT_BEATS) this.#onSilent()
    if (this.#beats % RENEW_BEATS === 0) this.#onLong()
  }
}
