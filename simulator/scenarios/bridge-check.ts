import type { Wiring } from '../physics/network.ts'
import type { ChannelDesign, NetworkDesign, ResistorDesign, Scenario } from './scenario.ts'
import { RESISTOR_100 } from './stock.ts'

/** The three of the box of terminals, by the letters on its lid. */
const BOX = { a: 'resistor-25', b: 'resistor-36', c: 'resistor-100c' } as const
type Letter = keyof typeof BOX

const RESISTORS: ResistorDesign[] = [
  RESISTOR_100,
  {
    id: 'resistor-100s',
    name: 'Best resistor 100 ohm',
    serial: 'QS100-0004',
    nominalOhm: 100,
    expandedRelative: 1e-7,
  },
  { id: BOX.a, name: 'Box resistor a, 25 ohm', serial: 'QB25-0011', nominalOhm: 25 },
  { id: BOX.b, name: 'Box resistor b, 36 ohm', serial: 'QB36-0012', nominalOhm: 36 },
  { id: BOX.c, name: 'Box resistor c, 100 ohm', serial: 'QB100-0013', nominalOhm: 100 },
]

const SETS: readonly (readonly Letter[])[] = [
  ['a', 'b'],
  ['a', 'c'],
  ['b', 'c'],
  ['a', 'b', 'c'],
]

const network = (id: string, name: string, wiring: Wiring): NetworkDesign => ({ id, name, wiring })

/** Each resistor of the box alone, and every two or three of them in series and in parallel. */
const NETWORKS: NetworkDesign[] = [
  ...(['a', 'b', 'c'] as const).map((letter) => network(`net-${letter}`, letter, BOX[letter])),
  ...SETS.flatMap((letters) => {
    const parts = letters.map((letter) => BOX[letter])
    return [
      network(`net-${letters.join('-')}-series`, letters.join(' + '), { series: parts }),
      network(`net-${letters.join('-')}-parallel`, letters.join(' || '), { parallel: parts }),
    ]
  }),
]

/** The same two resistors at the bridge both ways round, and the working resistor against the best. */
const PAIRS: NetworkDesign[] = [
  network('pair-25-over-100', '25 over 100', BOX.a),
  network('pair-100-over-25', '100 over 25', RESISTOR_100.id),
  network('working-over-best', 'Working 100 over best 100', RESISTOR_100.id),
]

const channel = ({ id }: NetworkDesign): ChannelDesign => ({
  id,
  network: id,
  currentMa: 3,
  settleMs: 6000,
  discard: 1,
  average: 16,
})

/** What a bridge is checked with: a box of three resistors behind a scanner, interchanged pairs, a better resistor. */
export const bridgeCheck: Scenario = {
  name: 'bridge-check',
  title: 'Quennick Temperature Laboratory, bridge and resistors',
  baths: [],
  cells: [],
  resistors: RESISTORS,
  networks: [...NETWORKS, ...PAIRS],
  thermometers: [],
  instruments: [
    {
      id: 'bridge',
      kind: 'rb-8',
      serial: '0817',
      inputs: {
        1: { switch: 'box' },
        2: { network: PAIRS[0]!.id },
        3: { network: PAIRS[1]!.id },
        4: { network: PAIRS[2]!.id },
      },
      resistors: { 1: RESISTOR_100.id, 2: RESISTOR_100.id, 3: BOX.a, 4: 'resistor-100s' },
    },
    {
      id: 'box',
      kind: 'cs-16',
      serial: '1607',
      inputs: Object.fromEntries(NETWORKS.map(({ id }, i) => [i + 1, { network: id }])),
    },
  ],
  channels: [...NETWORKS, ...PAIRS].map(channel),
  bench: {
    fluid: 'air',
    lowC: 20,
    highC: 25,
    safeC: 23,
    uniformityMk: 0,
    stabilityMk: 0,
    scanEveryS: 0,
  },
}
