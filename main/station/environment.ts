import type { Clock, Disposable } from '../../app/base/clock.ts'
import type { EnvironmentSensor } from '../../app/instruments/faces.ts'
import { InstrumentError } from '../../app/instruments/faces.ts'
import { said } from '../../app/messages/said.ts'
import type { Recorder } from './recorder.ts'

const EVERY_MS = 300_000
const NAMES = { 'air-temperature': 'air', humidity: 'humidity', pressure: 'pressure' }

/** Writes the room's air down every five minutes: a report states it. */
export function watchEnvironment(sensor: EnvironmentSensor, clock: Clock, recorder: Recorder): Disposable {
  const ended = new AbortController()
  const run = async () => {
    while (!ended.signal.aborted) {
      try {
        if (sensor.status.state === 'ready') await keep(sensor, recorder, ended.signal)
      } catch (fault) {
        if (!ended.signal.aborted && !(fault instanceof InstrumentError)) throw fault
      }
      await clock.sleep(EVERY_MS, ended.signal).catch(() => undefined)
    }
  }
  void run()
  return { dispose: () => ended.abort(new Error('the session has ended')) }
}

async function keep(sensor: EnvironmentSensor, recorder: Recorder, signal: AbortSignal): Promise<void> {
  const all = await sensor.readAll(signal)
  const data: Record<string, unknown> = {}
  const words: string[] = []
  for (const { quantity, measured } of all) {
    data[quantity] = measured.value ?? null
    if (measured.value === undefined) continue
    const unit = measured.unit === 'degC' ? '°C' : measured.unit
    words.push(`${NAMES[quantity]} ${measured.value.replace(/^\+/, '')} ${unit}`)
  }
  if (words.length > 0)
    recorder.tell({
      kind: 'environment',
      subject: sensor.id,
      said: said('room', { values: words.join(', ') }),
      data,
    })
}
