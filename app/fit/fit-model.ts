import type { Conversion, ThermocoupleType } from '../kinds/conversion.ts'

/** A thermometer under test at one temperature; signal in ohm (mV for a voltage). */
export interface CalibrationPoint {
  readonly t90C: number
  readonly signal: number
  /** Standard uncertainty of t90, K, and of the signal, in its unit, at this point. */
  readonly uT?: number
  readonly uSignal?: number
  /** In place of uncertainties: the weight of the point in the equation that is fitted. */
  readonly weight?: number
}

export type FitModel =
  | {
      readonly kind: 'its90'
      /** Section of the ITS-90 text; the narrowest subrange that holds the points unless told. */
      readonly subrange?: string
      /** R(WTP), ohm; else taken from the points nearest to the triple point of water. */
      readonly rWtp?: number
      readonly uRWtp?: number
      /** W(660.323 degC) where the d term is fitted; else from the point there, else as a, b and c imply it. */
      readonly wAluminium?: number
    }
  | {
      readonly kind: 'callendar-van-dusen'
      /** R(0 degC) held at this value, ohm; fitted unless told. */
      readonly r0?: number
      /** Whether the term below 0 degC is fitted, or the value it is held at; fitted where points lie below 0 degC. */
      readonly c?: boolean | number
    }
  | {
      readonly kind: 'steinhart-hart'
      /** Powers of ln R in 1/T; 0, 1, 3 unless told. */
      readonly powers?: readonly number[]
    }
  | {
      readonly kind: 'thermocouple'
      readonly type: ThermocoupleType
      /** Degree of the deviation from the reference function of the type as a polynomial in t90. */
      readonly degree: number
    }
  | {
      readonly kind: 'polynomial'
      /** Degree of t90 as a polynomial in the signal. */
      readonly degree: number
      readonly signal?: 'resistance' | 'voltage'
    }

export interface FitInput {
  readonly model: FitModel
  readonly points: readonly CalibrationPoint[]
}

export interface FittedEquation {
  /** What stands on its left side: 'W - Wr', '1/T', 'R', 'E - E_ref' or 't90'. */
  readonly of: string
  readonly unit: string
  /** 0 at the points that define R(WTP), which take no part. */
  readonly residuals: readonly number[]
  /** √(Σ r²/ν), unweighted. */
  readonly residualSd: number
}

export interface ThermometerFit {
  readonly conversion: Conversion
  /** Names of the coefficients in the order of every list here; of two joined sets the second with `joined.`. */
  readonly names: readonly string[]
  readonly coefficients: Readonly<Record<string, number>>
  readonly covariance: readonly (readonly number[])[]
  readonly standardUncertainties: readonly number[]
  /** What the thermometer would show with this fit, less the reference, K. */
  readonly residualsK: readonly number[]
  /** Measured less fitted signal, ohm (mV for a voltage). */
  readonly residualsSignal: readonly number[]
  /** The equation that was fitted, linear in the coefficients, and its residuals in its own unit. */
  readonly equation: FittedEquation
  /** Residual of each point, K, had it not taken part; NaN where a coefficient rests on the point alone. */
  readonly leaveOneOutK: readonly number[]
  /** √(Σ r²/ν); NaN where ν is 0. */
  readonly residualSdK: number
  readonly residualSdSignal: number
  readonly rSquared: number
  readonly degreesOfFreedom: number
  /** Σ w r² of the equation that was fitted; where uncertainties were given its expectation is ν. */
  readonly chiSquared: number
  readonly leverages: readonly number[]
  readonly condition: number
  /** Whether the covariance follows from stated uncertainties or from the scatter of the residuals. */
  readonly covarianceFrom: 'uncertainties' | 'residuals'
  /** What was decided on the way, in words: the subrange chosen, where R(WTP) came from. */
  readonly notes: readonly string[]
  /** Standard uncertainty that the coefficients bring to a temperature, K. */
  temperatureUncertainty(t90C: number): number
}
