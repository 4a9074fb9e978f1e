import type { Sight } from '../live/quantity.ts'

export interface PaneLine {
  channel: string
  name: string
  /** Its number among all channels: decides colour, dash and marker. */
  look: number
}

export interface PaneSpec extends Sight {
  lines: readonly PaneLine[]
  unit: string
  axis: 'shared' | 'own'
}

/** Extremes of a stretch that the rings do not reach, from the record. */
export interface PastLane {
  t: Float64Array
  min: Float64Array
  max: Float64Array
  /** What stands for the bucket where one number is wanted. */
  mid: Float64Array
}
