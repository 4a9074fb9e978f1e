import type { Disposable } from '../../app/base/clock.ts'
import type { Station } from '../station/station.ts'

/** Tells each new turn of a plan as one line, for logs and for terminals alike. */
export class RunLines implements Disposable {
  readonly #listening: Disposable
  #last = ''

  constructor(station: Station, say: (line: string) => void = console.log) {
    this.#listening = station.onDidChange.on(() => {
      const { phase, words, step } = station.state().runner
      const key = `${phase} ${step}`
      if (key === this.#last) return
      this.#last = key
      const now = new Date(station.state().utcUs / 1000).toISOString().slice(0, 19)
      say(`${now}Z  ${words}`)
    })
  }

  dispose(): void {
    this.#listening.dispose()
  }
}
