import { describe, expect, it } from 'vitest'
import { VirtualClock } from '../../../main/station/clocks/virtual.ts'
import { Room } from '../../../simulator/physics/room.ts'
import { fixedPoint, plateauC } from '../../../simulator/scenarios/fixed-point.ts'
import { oilBath } from '../../../simulator/scenarios/stock.ts'

function oilRoom(seed = 1) {
  const clock = new VirtualClock({ startUtcUs: 0 })
  const room = new Room(seed, clock)
  const bath = room.addBath(oilBath('oil'))
  return { clock, room, bath }
}

const PRT = { kind: 'callendar-van-dusen', r0: 100, a: 3.9083e-3, b: -5.775e-7, c: -4.183e-12 } as const
const place = { id: 'p', curve: PRT, lagS: 9, offsetK: 0.004, flutterK: 0, flutterMemoryS: 60 }

describe('Bath', () => {
  for (const setpoint of [5, 60, 140]) {
    it(`settles at ${setpoint} degC within half an hour and overshoots by less than 1 K`, async () => {
      const { clock, room, bath } = oilRoom()
      bath.setpointC = setpoint
      bath.switch(true)
      let worst = 0
      const sign = Math.sign(setpoint - 23)
      for (let minute = 1; minute <= 90; minute += 1) {
        await clock.sleep(60_000)
        const apart = bath.sensor.at(room.advance()) - setpoint
        worst = Math.max(worst, sign * apart)
        if (minute > 40) expect(Math.abs(apart)).toBeLessThan(0.005)
      }
      expect(worst).toBeLessThan(1)
      expect(bath.settling).toBe(false)
      clock.stop()
    })
  }

  it('drifts by millikelvins, not by nothing', async () => {
    const { clock, room, bath } = oilRoom()
    bath.setpointC = 30
    bath.switch(true)
    await clock.sleep(2 * 3600_000)
    const hourly: number[] = []
    for (let i = 0; i < 40; i += 1) {
      await clock.sleep(900_000)
      hourly.push(bath.temperature.at(room.advance()))
    }
    const span = Math.max(...hourly) - Math.min(...hourly)
    expect(span).toBeGreaterThan(0.0015)
    expect(span).toBeLessThan(0.015)
    clock.stop()
  })

  it('runs away with its heater stuck, and the cut-out ends that', async () => {
    const { clock, room, bath } = oilRoom()
    bath.setpointC = 30
    bath.switch(true)
    await clock.sleep(3600_000)
    room.advance()
    bath.faults.add('runaway-heater')
    await clock.sleep(600_000)
    expect(bath.temperature.at(room.advance())).toBeGreaterThan(60)
    await clock.sleep(3600_000)
    room.advance()
    expect(bath.tripped).toBe(true)
    expect(bath.temperature.latest).toBeLessThan(bath.design.cutOutC + 5)
    expect(bath.clearTrip()).toBe(bath.temperature.latest < bath.design.cutOutC)
    clock.stop()
  })

  it('cannot cool below the room without its cooler', async () => {
    const { clock, room, bath } = oilRoom()
    bath.faults.add('no-cooling')
    bath.setpointC = 10
    bath.switch(true)
    await clock.sleep(4 * 3600_000)
    expect(bath.temperature.at(room.advance())).toBeGreaterThan(22)
    clock.stop()
  })

  it('switches off with a broken sensor', async () => {
    const { clock, room, bath } = oilRoom()
    bath.setpointC = 50
    bath.switch(true)
    await clock.sleep(60_000)
    room.advance()
    bath.faults.add('sensor-fault')
    await clock.sleep(10_000)
    const at = room.advance()
    expect(bath.on).toBe(false)
    expect(bath.shown(at)).toBeUndefined()
    clock.stop()
  })

  it('follows a ramp at its rate', async () => {
    const { clock, room, bath } = oilRoom()
    bath.setpointC = 30
    bath.switch(true)
    await clock.sleep(3600_000)
    room.advance()
    bath.rampKPerMin = 0.5
    bath.setpointC = 60
    await clock.sleep(20 * 60_000)
    const before = bath.temperature.at(room.advance())
    await clock.sleep(10 * 60_000)
    expect(bath.temperature.at(room.advance()) - before).toBeCloseTo(5, 1)
    clock.stop()
  })
})

describe('ThermometerBody', () => {
  it('is warmed in proportion to the square of its current', async () => {
    const { clock, room } = oilRoom()
    const body = room.addThermometer({ ...place, selfHeatingKPerW: 15 }, 'oil')
    const still = async (currentA: number) => {
      room.advance()
      body.currentA = currentA
      await clock.sleep(300_000)
      const at = room.advance()
      return body.element.at(at) - body.place.at(at - place.lagS)
    }
    const none = await still(0)
    const one = (await still(1e-3)) - none
    const two = (await still(Math.SQRT2 * 1e-3)) - none
    // 15 K/W times 1 mA squared times 109 ohm is 1.6 mK; the bath's flutter stays in the difference.
    expect(one).toBeGreaterThan(0.8e-3)
    expect(one).toBeLessThan(2.6e-3)
    expect(two - one).toBeGreaterThan(0.6e-3)
    clock.stop()
  })

  it('lags behind a step by its time constant', async () => {
    const { clock, room, bath } = oilRoom()
    const body = room.addThermometer({ ...place, selfHeatingKPerW: 0 }, 'oil')
    bath.setpointC = 140
    bath.switch(true)
    await clock.sleep(300_000)
    const at = room.advance()
    // Along a straight ramp a first-order lag shows the temperature of one time constant ago.
    expect(body.element.at(at)).toBeCloseTo(body.place.at(at - place.lagS), 1)
    expect(body.place.at(at) - bath.temperature.at(at)).toBeCloseTo(place.offsetK, 6)
    clock.stop()
  })
})

describe('Room', () => {
  it('does not care how often it is looked at', async () => {
    const runs = await Promise.all(
      [
        [7, 100],
        [3600, 1],
      ].map(async ([everyS, times]) => {
        const { clock, room, bath } = oilRoom(5)
        bath.setpointC = 80
        bath.switch(true)
        for (let i = 0; i < times!; i += 1) {
          await clock.sleep(everyS! * 1000)
          room.advance()
        }
        await clock.sleep((5000 - everyS! * times!) * 1000)
        const value = bath.temperature.at(room.advance())
        clock.stop()
        return value
      }),
    )
    expect(runs[0]).toBe(runs[1])
  })

  it('differs from seed to seed', async () => {
    const values = await Promise.all(
      [1, 2].map(async (seed) => {
        const { clock, room, bath } = oilRoom(seed)
        await clock.sleep(1000_000)
        const value = bath.temperature.at(room.advance())
        clock.stop()
        return value
      }),
    )
    expect(values[0]).not.toBe(values[1])
  })
})

describe('FixedPointCell', () => {
  async function run(substance: 'In' | 'Zn' | 'H2O', setpoints: readonly number[], hoursEach: number) {
    const scenario = fixedPoint(substance)
    const clock = new VirtualClock({ startUtcUs: 0 })
    const room = new Room(1, clock)
    const bath = room.addBath(scenario.baths[0]!)
    const cell = room.addCell(scenario.cells[0]!)
    bath.switch(true)
    const series: { setpoint: number; celsius: number; molten: number }[] = []
    for (const setpoint of setpoints) {
      room.advance()
      bath.setpointC = setpoint
      for (let i = 0; i < hoursEach * 360; i += 1) {
        await clock.sleep(10_000)
        series.push({ setpoint, celsius: cell.temperature.at(room.advance()), molten: cell.moltenFraction })
      }
    }
    clock.stop()
    return series
  }

  it('supercools, springs back, and freezes along the plateau of indium', async () => {
    const top = plateauC('In')
    const series = await run('In', [top + 4, top - 1.5], 4)
    const cooling = series.filter(({ setpoint }) => setpoint < top)
    const lowestMolten = Math.min(
      ...cooling.filter(({ molten }) => molten === 1).map(({ celsius }) => celsius),
    )
    expect(lowestMolten).toBeLessThan(top - 0.05)
    const plateau = cooling.filter(({ molten }) => molten > 0.2 && molten < 0.9)
    expect(plateau.length).toBeGreaterThan(100)
    for (const { celsius } of plateau) expect(Math.abs(celsius - top)).toBeLessThan(0.0005)
    expect(cooling.at(-1)!.molten).toBe(0)
  })

  it('melts along the same plateau', async () => {
    const top = plateauC('Zn')
    const melting = (await run('Zn', [top + 4], 6)).filter(({ molten }) => molten > 0.3 && molten < 0.9)
    expect(melting.length).toBeGreaterThan(100)
    for (const { celsius } of melting) expect(Math.abs(celsius - top)).toBeLessThan(0.0006)
  })

  it('holds the triple point of water for hours in a bath near it', async () => {
    const series = await run('H2O', [0.02], 8)
    expect(series.at(-1)!.celsius).toBeCloseTo(plateauC('H2O'), 3)
    // 0.73 mK per metre of water, at the element's depth of 0.15 m (ITS-90 table 2).
    expect(plateauC('H2O')).toBeCloseTo(0.01 - 0.0001095, 9)
  })
})
