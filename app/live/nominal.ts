import type { Conversion } from '../kinds/conversion.ts'
import { kindOf } from '../kinds/table.ts'
import type { Thermometer } from '../records/register.ts'

/** The conversion that stands in for a calibration a thermometer does not have yet, as its kind has it. */
export const nominalConversion = (thermometer: Thermometer): Conversion | undefined =>
  kindOf(thermometer).nominal(thermometer)

/** How far a nominal conversion may be off, standard uncertainty in K; common practice, no source. */
export const NOMINAL_U_K = 0.5
