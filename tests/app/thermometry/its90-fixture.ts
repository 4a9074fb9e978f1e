import type { Its90Conversion, Its90Section } from '../../../app/kinds/conversion.ts'
import { fixedPoint } from '../../../app/thermometry/fixed-points.ts'
import type { Coefficients } from '../../../app/thermometry/its90-deviation.ts'
import { SUBRANGES, subrange } from '../../../app/thermometry/its90-subranges.ts'

/** Invented coefficients of the size real thermometers have, for each section. */
export const COEFFICIENTS: Record<Its90Section, Coefficients> = {
  '3.3.1': { a: -2.5e-4, b: -1.1e-4, c1: 1.8e-6, c2: -2.4e-7, c3: -6e-7, c4: -2.2e-7, c5: -2e-8 },
  '3.3.1.1': { a: -1.9e-4, b: -2.7e-5, c1: 7e-6, c2: 3.3e-6, c3: 4.4e-7 },
  '3.3.1.2': { a: -1.7e-4, b: -4.3e-5, c1: 2.6e-6 },
  '3.3.1.3': { a: -1.8e-4, b: 1.5e-5 },
  '3.3.2': { a: -1.7e-4, b: -1.3e-5, c: 2.2e-6, d: -1.05e-5 },
  '3.3.2.1': { a: -1.4e-4, b: -6.8e-6, c: 9.4e-7 },
  '3.3.2.2': { a: -2.1e-4, b: -1.2e-5 },
  '3.3.2.3': { a: -9.6e-5, b: -1.1e-5 },
  '3.3.2.4': { a: -1.3e-4 },
  '3.3.2.5': { a: -1.1e-4 },
  '3.3.3': { a: -1.2e-4, b: -1.9e-5 },
}
export const sections = SUBRANGES.map(({ section }) => section)
export const conversion = (section: Its90Section): Its90Conversion => ({
  kind: 'its90',
  subrange: section,
  coefficients: COEFFICIENTS[section],
})
/** Temperatures at which a subrange's coefficients are found; the two hydrogen points at 17.0 K and 20.3 K. */
export const calibrationTemperatures = (section: Its90Section) =>
  subrange(section).fixedPoints.map((name) => {
    if (name === 'e-H2 near 17 K') return 17.035 - 273.15
    return name === 'e-H2 near 20.3 K' ? 20.27 - 273.15 : fixedPoint(name).kelvin - 273.15
  })
