import { cpus } from 'node:os'

/** Tells how much of the machine's processor time went unused between two looks. */
export class IdleMeter {
  #idle = 0
  #all = 0

  /** Since the last call, 0 to 1. */
  readonly share = (): number => {
    let idle = 0
    let all = 0
    for (const { times } of cpus()) {
      idle += times.idle
      all += times.user + times.nice + times.sys + times.irq + times.idle
    }
    const share = all > this.#all ? (idle - this.#idle) / (all - this.#all) : 1
    this.#idle = idle
    this.#all = all
    return share
  }
}
