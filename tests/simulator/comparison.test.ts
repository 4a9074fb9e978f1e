import { describe, expect, it } from 'vitest'
import type { Its90Conversion } from '../../app/kinds/conversion.ts'
import type { Register } from '../../app/records/register.ts'
import { its90Resistance, referenceSlope } from '../../simulator/physics/platinum.ts'
import { type Curve, resistanceOf } from '../../simulator/physics/sensors.ts'
import { type RawClient, START_UTC_US, virtualLab } from './bench-client.ts'

const SEEDS = 160
const SETPOINT = 60

/** Temperature at which a rising curve has this resistance, by halving. */
function celsiusAt(ohm: number, curve: (celsius: number) => number): number {
  let [low, high] = [0, 150]
  for (let i = 0; i < 60; i += 1) {
    const middle = (low + high) / 2
    if (curve(middle) < ohm) low = middle
    else high = middle
  }
  return (low + high) / 2
}

interface Known {
  rs: number
  uRsRelative: number
  reference(celsius: number): number
  uCertificateK: number
  uWtpRelative: number
}

/** What the paperwork says of the reference and the 100 ohm resistor on the lab's first day. */
function known({ resistors, thermometers }: Register): Known {
  const resistor = resistors.find(({ id }) => id === 'resistor-100')!
  const stated = resistor.calibrations[0]!
  const years = (START_UTC_US / 1000 - Date.parse(stated.date)) / (365.25 * 86_400_000)
  const { calibrations, wtpHistory } = thermometers.find(({ id }) => id === 'sprt-0147')!
  const { conversion, uncertainty } = calibrations[0]!
  const { a, b } = (conversion as Its90Conversion).coefficients
  const wtp = wtpHistory.at(-1)!
  const [p, q] = [50, 75].map((celsius) => uncertainty!.points.find((point) => point.celsius === celsius)!)
  const expandedMk = p!.expandedMk + ((SETPOINT - 50) / 25) * (q!.expandedMk - p!.expandedMk)
  return {
    rs: Number(stated.ohm) * (1 + stated.driftPerYear * years),
    uRsRelative: Math.hypot(
      stated.expandedRelative / stated.k,
      stated.uDriftPerYear * years,
      stated.alphaPerK * resistor.uKeptAtK,
    ),
    reference: (celsius) => its90Resistance({ rWtp: Number(wtp.ohm), a: Number(a), b: Number(b) }, celsius),
    uCertificateK: expandedMk / 1000 / uncertainty!.k,
    uWtpRelative: wtp.uOhm / Number(wtp.ohm),
  }
}

/** Error of a careful comparison at one temperature over its standard uncertainty, all from the paperwork. */
async function score(seed: number): Promise<number> {
  const { lab, clock, client, end } = await virtualLab({ seed })
  const [bridge, scanner, bath] = (await Promise.all(['bridge', 'scanner', 'bath'].map(client))) as [
    RawClient,
    RawClient,
    RawClient,
  ]
  bath.tell(`SOUR:TEMP:SPO ${SETPOINT};:OUTP ON\n`)
  bridge.tell('SENS:AVER:COUN 8\n')
  await scanner.ask('SOUR:CURR:KEEP 1 MA,(@101);KEEP 1 MA,(@102);*OPC?\n')
  await clock.sleep(45 * 60_000)
  const sums = [0, 0]
  const order = [0, 1, 1, 0, 0, 1, 1, 0, 0, 1, 1, 0]
  for (const which of order) {
    await scanner.ask(`ROUT:CLOS (@10${which + 1});*OPC?\n`)
    await clock.sleep(6000)
    sums[which]! += Number(await bridge.ask('READ?\n')) / (order.length / 2)
  }
  const paper = known(lab.paperwork)
  const truth = lab.truth.thermometers.get('prt-1031')!.curve as Curve
  const prt = (celsius: number) => resistanceOf(truth, celsius)!
  await end()

  // Stated self-heating at 1 mA, growing with R: 0.6 mK at 25.5 ohm, 1.5 mK at 100 ohm.
  const [wReference, wPrt] = [(sums[0]! * paper.rs) / 25.5, (sums[1]! * paper.rs) / 100]
  const tReference = celsiusAt(sums[0]! * paper.rs, paper.reference) - 0.0006 * wReference
  const tPrt = celsiusAt(sums[1]! * paper.rs, prt) - 0.0015 * wPrt
  const slopeReference = (paper.reference(SETPOINT + 0.1) - paper.reference(SETPOINT - 0.1)) / 0.2 / paper.rs
  const slopePrt = (prt(SETPOINT + 0.1) - prt(SETPOINT - 0.1)) / 0.2 / paper.rs
  const bridgeEntry = lab.paperwork.instruments.find(({ id }) => id === 'bridge')!.bridge!
  const u = Math.hypot(
    paper.uCertificateK,
    (paper.uWtpRelative * wReference) / referenceSlope(SETPOINT),
    // One resistor for both: only the difference of the sensitivities counts.
    paper.uRsRelative * (sums[0]! / slopeReference - sums[1]! / slopePrt),
    bridgeEntry.linearityRatio / slopeReference,
    bridgeEntry.linearityRatio / slopePrt,
    0.1 * 0.0006 * wReference,
    0.1 * 0.0015 * wPrt,
    lab.bench.bath!.uniformityMk / 1000,
    // Six readings of each, each pair within the memory of the fluctuation: three independent ones.
    (Math.SQRT2 * lab.bench.bath!.stabilityMk) / 1000 / Math.sqrt(3),
  )
  return (tPrt - tReference) / u
}

describe('a careful comparison on the lab', () => {
  it('is wrong by as much as its paperwork says, over many seeds', async () => {
    const scores: number[] = []
    for (let seed = 1; seed <= SEEDS; seed += 1) scores.push(await score(seed))
    const mean = scores.reduce((a, b) => a + b, 0) / SEEDS
    const sd = Math.sqrt(scores.reduce((a, b) => a + (b - mean) ** 2, 0) / (SEEDS - 1))
    const within = scores.filter((z) => Math.abs(z) < 2).length / SEEDS
    // Four standard errors of mean, standard deviation and share of a normal distribution.
    expect(Math.abs(mean)).toBeLessThan(4 / Math.sqrt(SEEDS))
    expect(Math.abs(sd - 1)).toBeLessThan(4 / Math.sqrt(2 * SEEDS))
    expect(within).toBeGreaterThan(0.9545 - 4 * Math.sqrt((0.9545 * 0.0455) / SEEDS))
    expect(within).toBeLessThan(1)
  })
})
