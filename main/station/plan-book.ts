import type { Batch, EventWords, Recorder } from './recorder.ts'
import { RunnerState } from './runner-state.ts'

/** Where the plan stands, stored before anything is done about it, each time together with what led there. */
export class PlanBook {
  readonly #recorder: Recorder
  readonly #onChange: () => void
  #state: RunnerState

  constructor(recorder: Recorder, state: RunnerState, onChange: () => void) {
    this.#recorder = recorder
    this.#state = RunnerState.parse(state)
    this.#onChange = onChange
  }

  get state(): RunnerState {
    return this.#state
  }

  /** Stores a change with its events and whatever else belongs to it. Throws the store's error; then nothing has changed. */
  write(change: Partial<RunnerState>, events: readonly EventWords[] = [], batch: Batch = {}): void {
    const { next, all } = this.#entry(change, events, batch)
    this.#recorder.commit(all)
    this.#take(next)
  }

  /** The same, but goes on where it cannot be stored: the way to safety does not wait for a disk. */
  writeIfPossible(change: Partial<RunnerState>, events: readonly EventWords[] = []): void {
    const { next, all } = this.#entry(change, events, {})
    this.#recorder.attempt(all)
    this.#take(next)
  }

  #take(next: RunnerState): void {
    this.#state = next
    this.#onChange()
  }

  #entry(change: Partial<RunnerState>, events: readonly EventWords[], batch: Batch) {
    const phaseChanged = change.phase !== undefined && change.phase !== this.#state.phase
    const next: RunnerState = {
      ...this.#state,
      ...(phaseChanged && { phaseSinceUtcUs: this.#recorder.now().utcUs }),
      ...change,
    }
    const { phase, part, step } = next
    const told = events.map((e) => this.#recorder.event({ ...e, data: { ...e.data, phase, part, step } }))
    const all: Batch = { ...batch, events: [...(batch.events ?? []), ...told], runner: next }
    return { next, all }
  }
}
