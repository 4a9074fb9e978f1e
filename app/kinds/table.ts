import { industrialPlatinum } from './industrial-platinum.ts'
import type { ThermometerKind } from './kind.ts'
import { other } from './other.ts'
import { standardPlatinum } from './standard-platinum.ts'
import { thermistor } from './thermistor.ts'
import { thermocouple } from './thermocouple.ts'

/** Every kind of thermometer, by the word that records carry. A new kind is one file and one row here. */
export const KINDS = {
  sprt: standardPlatinum,
  prt: industrialPlatinum,
  thermistor,
  thermocouple,
  other,
} as const satisfies Record<string, ThermometerKind>

export type KindName = keyof typeof KINDS

export const THERMOMETER_KINDS = Object.keys(KINDS) as [KindName, ...KindName[]]

/** The row of a thermometer's kind. */
export const kindOf = ({ kind }: { readonly kind: KindName }): ThermometerKind => KINDS[kind]

/** Unit in which a kind's signal is kept. */
export const signalUnitOf = (thermometer: { readonly kind: KindName }): 'ohm' | 'mV' =>
  kindOf(thermometer).signal === 'voltage' ? 'mV' : 'ohm'
