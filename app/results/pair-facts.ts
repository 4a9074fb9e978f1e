import type { BridgeInForce } from '../live/bridge-in-force.ts'
import type { HysteresisFound } from './hysteresis.ts'
import type { PartOfDifference, PlaceDifference } from './places.ts'

/** What an exchange says of two places, and whose reading each of its errors is of: a reference by its place in the session's order. */
export interface PlacesKnown extends PlaceDifference {
  readonly errors: readonly (PartOfDifference & { readonly of: 'under-test' | 'another' | number })[]
}

/** What one reference thermometer contributes to the temperature of a point. */
export interface ReferencePoint {
  /** Weight in the temperature of the point; the weights of all references sum to 1. */
  readonly weight: number
  /** R/(dR/dt): mK for a relative change of one in the signal. */
  readonly mkPerRelative: number
  /** As the bridge showed it; null where the instrument does not measure a ratio. */
  readonly ratio: number | null
  /** Repeatability: standard uncertainty of the mean, mK, and its degrees of freedom. */
  readonly noiseMk: number
  readonly noiseDof: number
  /** Standard uncertainty of the self-heating correction, mK, and its degrees of freedom. */
  readonly selfHeatingMk: number
  readonly selfHeatingDof: number
  /** Resistance, ohm; null for a thermocouple. */
  readonly ohm: number | null
  readonly ohmAtWtp: number
  /** What an exchange says of the thermometer's place against this one's; null: none does. */
  readonly places: PlacesKnown | null
}

/** What the uncertainty of one pair (references, thermometer under test) at one point is worked out from. */
export interface PairPoint {
  readonly point: string
  /** Realised by a water triple point cell: neither reference, bath nor immersion act on it. */
  readonly cell: boolean
  /** Temperature by the references at the time of the thermometer under test, degC. */
  readonly referenceC: number
  /** One for each reference of the session, in their order; weight 0 where one has no part in the point. None in a cell. */
  readonly references: readonly ReferencePoint[]
  readonly underTestMkPerRelative: number
  /** As the bridge showed it; null where the instrument does not measure a ratio. */
  readonly underTestRatio: number | null
  /** Repeatability: standard uncertainty of the mean, mK, and its degrees of freedom. */
  readonly underTestNoiseMk: number
  readonly underTestNoiseDof: number
  /** Standard uncertainty of the self-heating correction, mK, and its degrees of freedom. */
  readonly underTestSelfHeatingMk: number
  readonly underTestSelfHeatingDof: number
  /** What 1 mK at a thermocouple's reference junction does to the temperature it shows, mK/mK; 0 for other thermometers. */
  readonly junctionPart: number
  /** Signal under test: ohm, mV for a thermocouple; and the same in ohm, null for a thermocouple. */
  readonly underTestSignal: number
  readonly underTestOhm: number | null
  /** How far the bath may have moved while no reference bracketed the thermometer under test, half-width, mK. */
  readonly unbracketedMk: number
  /** Largest distance of a reference from the mean of them where they do not agree, mK; else 0. */
  readonly disagreementMk: number
}

/** Relative standard uncertainties of a reference resistor. */
export interface ResistorFacts {
  /** Register id: channels on one resistor share its error. */
  readonly id: string
  readonly calibration: number
  readonly drift: number
  readonly temperature: number
}

/** What the records say of one reference thermometer. */
export interface ReferenceFacts {
  readonly name: string
  /** The bridge that measures it; null where it states nothing, or no bridge does. */
  readonly bridge: BridgeInForce | null
  readonly resistor: ResistorFacts | null
  /** Its R(WTP) comes from this session, over the same resistor: the resistor's error cancels in W. */
  readonly ratioFromSession: boolean
  /** Standard uncertainty of its calibration, mK. */
  calibrationMk(celsius: number): number
  /**
   * Where the certificate states the covariance of its coefficients: what one standard uncertainty of each independent
   * combination of them does at a temperature, mK. Empty where it does not.
   */
  calibrationModesMk(celsius: number): readonly number[]
  /** Relative standard uncertainty of its R(WTP). */
  readonly wtpRelative: number
  /** Relative change of its resistance per mK at the water triple point, for its drift. */
  readonly relativePerMkAtWtp: number
  readonly yearsSince: number
  /** Insulation resistance, ohm; null: not measured. */
  readonly insulationOhm: number | null
}

/** Relative standard uncertainty that a meter's accuracy gives a value, and where it stands. */
export interface MeterFacts {
  uRelative(value: number): number
  readonly source: string
}

/** How far places of the bath differ, where no exchange of this session tells. */
export interface UniformityFacts {
  /** Standard uncertainty of the difference of two places, mK. */
  uMk(celsius: number): number
  /** Infinity where the figure was typed. */
  readonly degreesOfFreedom: number
  readonly source: string
}

/** What a lift of the thermometers told of the heat along a stem. */
export interface LiftFacts {
  readonly celsius: number
  /** Thermometer under test less reference, lifted less immersed, mK. */
  readonly changeMk: number
  readonly uMk: number
  readonly liftMm: number
}

/** What holds for the whole comparison of one thermometer under test. */
export interface PairFacts {
  /** In the order of the references of the points. */
  readonly references: readonly ReferenceFacts[]
  readonly bridge: BridgeInForce | null
  readonly resistor: ResistorFacts | null
  readonly uniformity: UniformityFacts
  readonly bathStabilityMk: number
  /**
   * Standard uncertainty of the temperature of the reference junction of a thermocouple under test, mK, where the bench
   * states it; null: not stated.
   */
  readonly underTestJunctionMk: number | null
  /** What visits on the way up and down show; null where no temperature was visited both ways. */
  readonly hysteresis: HysteresisFound | null
  /** Null: the thermometers were not lifted. */
  readonly lift: LiftFacts | null
  /** Insulation resistance of the thermometer under test, ohm; null: not measured. */
  readonly insulationOhm: number | null
  /** What a meter's record states of the voltage or resistance under test; null: nothing, or a bridge measures it. */
  readonly meter: MeterFacts | null
  readonly spanK: number
  /** Scatter of the residuals beyond what the rest explains, mK, and its degrees of freedom. */
  readonly excess: {
    readonly mk: number
    readonly degreesOfFreedom: number
  } | null
}
