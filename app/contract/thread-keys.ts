/**
 * Keys by which a number on a screen or in a report is pulled (points.thread). Both ends write and read them here, so
 * that a key never has to be guessed. Parts are joined by '/', and channel, point and coefficient ids carry none.
 */
export const POINT_FIELDS = ['signal', 't90C', 'referenceC', 'uTypeAMk', 'sdMk', 'driftMkPerMin'] as const
export type PointField = (typeof POINT_FIELDS)[number]
export const FIT_FIELDS = ['signal', 'celsius', 'residualMk', 'expandedMk', 'deviationMk'] as const
export type FitField = (typeof FIT_FIELDS)[number]

export const threadKey = {
  /** A value on Watch: quantity is 'ratio', 'resistance' or 'temperature'. */
  live: (channel: string, quantity: 'ratio' | 'resistance' | 'temperature') => `live/${channel}/${quantity}`,
  /** What one channel gave to a point. */
  point: (point: string, channel: string, field: PointField) => `point/${point}/${channel}/${field}`,
  coefficient: (channel: string, name: string) => `fit/${channel}/coefficient/${name}`,
  /** A point as a fit saw it; 'expandedMk' unfolds to the budget. */
  fitPoint: (channel: string, point: string, field: FitField) => `fit/${channel}/point/${point}/${field}`,
}
