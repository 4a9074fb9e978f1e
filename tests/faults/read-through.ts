import { expect } from 'vitest'
import type { Measured, TrafficLine } from '../../app/instruments/faces.ts'
import type { FaultOrder } from '../../simulator/faults/order.ts'
import type { LabBench } from '../drivers/lab.ts'

/** A fault as it is ordered, but for whose it is. */
export type Order = Omit<FaultOrder, 'instrument'>

/** Readings one after another, a fault ordered before the fourth. */
export async function readThrough(
  bench: LabBench,
  id: string,
  order: Order | undefined,
  count = 14,
): Promise<{ readings: Measured[]; faultUs: number }> {
  const meter = bench.meter(id)
  await meter.open()
  const readings: Measured[] = []
  let faultUs = 0
  for (let i = 0; i < count; i++) {
    if (i === 3) {
      faultUs = bench.clock.now().monoUs
      if (order) bench.lab.fault({ ...order, instrument: id } as FaultOrder)
    }
    readings.push(await meter.measure({ input: 2, currentMa: 1, average: 1 }))
    await bench.clock.sleep(1000)
  }
  return { readings, faultUs }
}

/** Every value must stand in a line that was received before it was reported. */
export function expectSent(readings: readonly Measured[], traffic: readonly TrafficLine[]): void {
  for (const { value, at } of readings) {
    if (value === undefined) continue
    const lines = traffic.filter((line) => line.direction === 'received' && line.at.monoUs <= at.monoUs)
    expect(lines.some((line) => line.text.includes(value))).toBe(true)
  }
}
