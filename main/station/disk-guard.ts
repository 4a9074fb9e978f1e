import type { Clock, Disposable } from '../../app/base/clock.ts'
import { saidByAny } from '../../app/base/coded-error.ts'
import { type Said, said } from '../../app/messages/said.ts'
import type { DiskReserve } from '../store/disk.ts'
import { StoreError } from '../store/errors.ts'
import type { AlarmDesk } from './alarm-desk.ts'
import type { StationLog } from './log.ts'
import type { Recorder } from './recorder.ts'

const LOOK_MS = 60_000

export interface DiskGuardParts {
  readonly recorder: Recorder
  readonly reserve: DiskReserve
  readonly alarms: AlarmDesk
  readonly clock: Clock
  readonly log: StationLog
}

/**
 * When the session file cannot be written: the alarm, and on a full disk the room set aside, so that readings, the stop
 * and the account of it still find a place. The alarm stands until the room can be set aside again.
 */
export class DiskGuard implements Disposable {
  readonly #p: DiskGuardParts
  readonly #ends: Disposable[]
  #timer: Disposable | undefined

  constructor(parts: DiskGuardParts) {
    this.#p = parts
    this.#ends = [
      parts.recorder.onDidFail.on((fault) => this.#failed(fault)),
      parts.recorder.onDidRecover.on(() => this.#recovered()),
    ]
  }

  dispose(): void {
    for (const end of this.#ends) end.dispose()
    this.#timer?.dispose()
  }

  #failed(fault: unknown): void {
    const { log, reserve } = this.#p
    log.error({ fault }, 'the session file cannot be written')
    const full = fault instanceof StoreError && fault.code === 'disk-full'
    const helped = full && reserve.held
    if (helped) reserve.release()
    const why = saidByAny(fault)
    this.#raise(helped ? said('disk-reserve-used', { fault: why }) : why)
  }

  #recovered(): void {
    if (this.#p.reserve.hold()) this.#p.alarms.end('disk')
    else {
      this.#raise(said('disk-nearly-full', {}))
      this.#timer?.dispose()
      this.#timer = this.#p.clock.after(LOOK_MS, () => this.#recovered())
    }
  }

  #raise(why: Said): void {
    this.#p.alarms.raise({ key: 'disk', kind: 'disk', severity: 'alarm', subject: null, said: why })
  }
}
