import type { Clock, Disposable } from '../../app/base/clock.ts'
import { every } from '../../app/base/every.ts'
import { duration } from '../../app/base/times.ts'
import type { Watch } from '../../app/live/watch.ts'
import { celsiusWords } from '../../app/live/words.ts'
import { type Said, said } from '../../app/messages/said.ts'
import type { Bench } from '../../app/records/bench.ts'
import type { BathLimits } from './bath-limits.ts'
import type { Recorder } from './recorder.ts'

export interface ReferenceGuardParts {
  readonly bench: Bench
  readonly clock: Clock
  readonly recorder: Recorder
  readonly watch: Watch
  readonly limits: BathLimits
  /** Whether the bath may be away from its safe setpoint now. */
  readonly onGuard: () => boolean
  readonly onTrouble: (why: Said, key: string) => void
}

const LOOK_MS = 5_000
/** How long a reference may be without a reading that counts, s. */
const LOST_S = 600
/** How far above the bath's limit a reference may read, K, and how many looks in a row must say so. */
const OVER_K = 2
const AGREE = 3

/** Looks after the reference while the bath may be hot: without it nobody knows what is going on in there. */
export class ReferenceGuard implements Disposable {
  readonly #p: ReferenceGuardParts
  readonly #references: readonly string[]
  /** Silence before this life of the station is a gap of its own. */
  readonly #bornUs: number
  #hot = 0
  readonly #looking: Disposable

  constructor(parts: ReferenceGuardParts) {
    this.#p = parts
    this.#references = parts.bench.channels
      .filter((c) => c.enabled && c.role === 'reference')
      .map((c) => c.id)
    this.#bornUs = parts.recorder.now().monoUs
    this.#looking = every(parts.clock, LOOK_MS, () => this.#look())
  }

  dispose(): void {
    this.#looking.dispose()
  }

  #look(): void {
    if (this.#references.length === 0 || !this.#p.onGuard()) return
    const { watch, recorder, limits, onTrouble } = this.#p
    const now = recorder.now()
    const ownS = (now.monoUs - this.#bornUs) / 1e6
    const silenceS = Math.min(ownS, ...this.#references.map((id) => watch.silenceS(id, now)))
    if (silenceS > LOST_S) {
      onTrouble(said('reference-silent', { time: duration(silenceS) }), 'reference-lost')
      return
    }
    const hottest = Math.max(...this.#references.map((id) => watch.celsius(id)).filter(Number.isFinite))
    this.#hot = hottest > limits.highC + OVER_K ? this.#hot + 1 : 0
    if (this.#hot < AGREE) return
    onTrouble(
      said('reference-over', { celsius: celsiusWords(hottest), limit: celsiusWords(limits.highC) }),
      'reference-over-temperature',
    )
  }
}
