import type { PointCorrelation, TemplateComponent } from './uncertainty-template.ts'

/** What one error of a component does, one number for each point; absent: nothing. */
export interface Acts {
  /** Relative, of the first reference's signal, its weight in it. */
  readonly referenceRelative?: readonly number[]
  readonly underTestRelative?: readonly number[]
  readonly temperatureMk?: readonly number[]
  readonly correlation?: PointCorrelation
  readonly degreesOfFreedom?: readonly number[]
  readonly source?: string
  /** All thermometers under test feel the same error, whatever the rest of its component is. */
  readonly shared?: boolean
  /** Sizes of one and the same estimate, within a component. */
  readonly estimate?: string
  /** Where the size is stated in another way than the template takes it. */
  readonly distribution?: TemplateComponent['distribution']
}
