import { METER_KNOWN, RATIO_KNOWN } from '../paperwork/register.ts'
import { RatioElectronics } from '../physics/electronics.ts'
import { randomStream } from '../physics/randomness.ts'
import type { Scenario } from '../scenarios/scenario.ts'

/** The electronics of a scenario's bridges and of its meter's voltage ranges, drawn as those on the wire are. */
export function buildElectronics(
  { instruments }: Scenario,
  seed: number,
): { ratio: ReadonlyMap<string, RatioElectronics>; meter: { gain: number; offsetV: number } } {
  const stream = (what: string, id: string) => randomStream(seed, `${what} ${id}`)
  const ratio = new Map<string, RatioElectronics>()
  let meter = { gain: 0, offsetV: 0 }
  for (const { id, kind } of instruments) {
    if (kind === 'rb-8' || kind === 'rb-3')
      ratio.set(id, new RatioElectronics(RATIO_KNOWN[kind], stream('electronics', id)))
    if (kind === 'dm-7') {
      const volts = stream('volts', id)
      meter = {
        gain: METER_KNOWN.voltGain * volts.normal(),
        offsetV: METER_KNOWN.voltOffset * volts.normal(),
      }
    }
  }
  return { ratio, meter }
}
