import type { Channel } from '../../app/records/bench.ts'
import type { Register } from '../../app/records/register.ts'

/** The first channel is the reference's: what the register alone can mean is chosen already. */
export function withStandards(channel: Channel, register: Register | undefined): Channel {
  const [thermometer, another] = register?.thermometers ?? []
  const like = thermometer?.nominalOhm ?? 0
  // The resistor nearest to the thermometer's own size keeps the ratio within every bridge.
  const resistor = register?.resistors.toSorted(
    (a, b) =>
      Math.abs(Math.log(a.nominalOhm / (like || 100))) - Math.abs(Math.log(b.nominalOhm / (like || 100))),
  )[0]
  return {
    ...channel,
    ...(thermometer &&
      !another && { thermometer: thermometer.id, name: thermometer.name, currentMa: thermometer.currentMa }),
    ...(resistor && { reference: { kind: 'resistor', resistor: resistor.id } }),
  }
}
