import type { Clock } from '../../app/base/clock.ts'
import type { Bath } from '../../app/instruments/faces.ts'
import type { BathSpec } from '../../app/records/bench.ts'
import type { AlarmDesk } from './alarm-desk.ts'
import type { StationLog } from './log.ts'

export interface AfterwardsParts {
  readonly spec: BathSpec
  readonly bath: () => Bath | undefined
  readonly clock: Clock
  readonly alarms: AlarmDesk
  readonly log: StationLog
  /** Whether the bath is still nobody else's business. */
  readonly goOn: () => boolean
}

const EVERY_MS = 60_000

/** A bath that did not confirm its safe setpoint is asked again for as long as the station stands and nothing else runs. */
export async function goOnTryingSafe({
  spec,
  bath,
  clock,
  alarms,
  log,
  goOn,
}: AfterwardsParts): Promise<void> {
  while (goOn()) {
    const reached = bath()
    try {
      if (reached?.status.state === 'ready') {
        await reached.setSetpoint(spec.safeC)
        alarms.end('bath-unsafe')
        log.info(
          { bath: reached.id, celsius: spec.safeC },
          'the bath has confirmed its safe setpoint at last',
        )
        return
      }
    } catch (fault) {
      log.warn({ fault }, 'the safe setpoint is still not confirmed')
    }
    await clock.sleep(EVERY_MS)
  }
}
