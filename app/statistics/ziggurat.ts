import type { Random } from './random.ts'

/** Layers; each has the same area, the lowest with the tail. */
const LAYERS = 256
/** Where the tail begins, and the area of a layer, for 256 layers of exp(−x²/2). */
const TAIL = 3.6541528853610088
const AREA = 0.00492867323399

/** Right edges of the layers, from the widest; the heights of the density there. */
const EDGE = new Float64Array(LAYERS + 1)

const density = (x: number) => Math.exp(-0.5 * x * x)
EDGE[0] = AREA / density(TAIL)
EDGE[1] = TAIL
for (let i = 2, edge = TAIL; i < LAYERS; i++) {
  edge = Math.sqrt(-2 * Math.log(AREA / edge + density(edge)))
  EDGE[i] = edge
}
EDGE[LAYERS] = 0
const HEIGHT = EDGE.map(density)

const TO_UNIT = 1 / 4294967296

/**
 * Fills a column with standard normal numbers, several times as fast as one by one: millions are drawn for one report.
 *
 * The layer and the place in it come from different outputs of the generator, so that they do not hang together; one output has the
 * layers of four numbers.
 *
 * Symbols  column, filled with z, mean 0, SD 1; random, the sequence it is drawn from
 * Source   G. Marsaglia, W. W. Tsang, J. Stat. Softw. 5 (2000) 8 (ziggurat; constants of 256 layers); J. A. Doornik, An Improved
 *          Ziggurat Method (2005) (separate outputs); both from memory, the constants are held against the density by a test
 * Valid    any column; places have 32 bits
 * Throws   nothing
 */
export function fillNormal(random: Random, column: Float64Array): void {
  const { bits, uniform } = random
  let layers = 0
  let left = 0
  for (let k = 0; k < column.length; k++) {
    for (;;) {
      if (left === 0) {
        layers = bits()
        left = 4
      }
      const layer = layers & (LAYERS - 1)
      layers >>>= 8
      left--
      const place = 2 * (bits() + 0.5) * TO_UNIT - 1
      const x = place * EDGE[layer]!
      if (Math.abs(x) < EDGE[layer + 1]!) {
        column[k] = x
        break
      }
      if (layer === 0) {
        column[k] = Math.sign(place) * tail(uniform)
        break
      }
      if (HEIGHT[layer]! + uniform() * (HEIGHT[layer + 1]! - HEIGHT[layer]!) < density(x)) {
        column[k] = x
        break
      }
    }
  }
}

/** A normal number beyond the last edge. Marsaglia, Technometrics 6 (1964) 101, from memory. */
function tail(uniform: () => number): number {
  for (;;) {
    const x = -Math.log(uniform()) / TAIL
    if (-2 * Math.log(uniform()) > x * x) return TAIL + x
  }
}
