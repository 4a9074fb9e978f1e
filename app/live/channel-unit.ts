import type { CHANNEL_UNITS, Channel } from '../records/bench.ts'

/** Unit in which a channel is shown. What is stored stays as the instrument sent it. */
export type ChannelUnit = (typeof CHANNEL_UNITS)[number]

/** Which quantity of a reading a unit is one of. */
export const quantityOfUnit = (unit: ChannelUnit): 'temperature' | 'resistance' | 'raw' =>
  unit === 'ohm' || unit === 'mV' ? 'resistance' : unit === 'ratio' ? 'raw' : 'temperature'

/**
 * A temperature in the unit that it is shown in.
 *
 *   T/K = t/degC + 273.15,  t/degF = 1.8 t/degC + 32
 *
 * Source   ITS-90 (Preston-Thomas 1990), 1; the degree Fahrenheit: NIST SP 811:2008, B.9 (numbers from memory)
 */
export const celsiusAs = (celsius: number, unit: ChannelUnit): number =>
  unit === 'K' ? celsius + 273.15 : unit === 'degF' ? celsius * 1.8 + 32 : celsius

/** Units of a scale of temperature in one kelvin; 1 for what is no temperature. */
export const perKelvin = (unit: ChannelUnit): number => (unit === 'degF' ? 1.8 : 1)

/** The unit that a bench says, else degC where a thermometer hangs on the channel; undefined: as it is read. */
export const unitOfChannel = (channel: Pick<Channel, 'unit' | 'thermometer'>): ChannelUnit | undefined =>
  channel.unit ?? (channel.thermometer === undefined ? undefined : 'degC')
