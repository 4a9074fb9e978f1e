import { z } from 'zod'
import { KINDS, type KindName, THERMOMETER_KINDS } from '../kinds/table.ts'
import { said } from '../messages/said.ts'
import { LANGUAGES } from '../records/certificate.ts'
import always from './budgets/always.json' with { type: 'json' }
import industrialPlatinum from './budgets/industrial-platinum.json' with { type: 'json' }
import standardPlatinum from './budgets/standard-platinum.json' with { type: 'json' }
import thermistor from './budgets/thermistor.json' with { type: 'json' }
import thermocouple from './budgets/thermocouple.json' with { type: 'json' }
import { ComparisonError } from './uncertainty-error.ts'

/**
 * Where a component's size comes from. All but `fixed` are worked out from the session file: the readings, the bench,
 * the register's calibrations and instruments.
 */
export const COMPONENT_ORIGINS = [
  'noise-reference',
  'noise-under-test',
  'bridge-linearity',
  'bridge-resolution',
  'resistor-calibration',
  'resistor-drift',
  'resistor-temperature',
  'reference-calibration',
  'reference-wtp',
  'reference-drift',
  'reference-disagreement',
  'self-heating-reference',
  'self-heating-under-test',
  'bath-uniformity',
  'bath-stability',
  'cell',
  'hysteresis',
  'repeatability',
  'reference-junction',
  'insulation',
  'meter',
  'fixed',
] as const

/**
 * How the errors of one component at different points of one comparison hang together. `independent`: not at all.
 * `common`: one error, in proportion to its size at each point. `smooth`: alike at near temperatures, with the
 * correlation exp(-(t1 - t2)^2 / (2 L^2)).
 */
export const PointCorrelation = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('independent') }),
  z.strictObject({ kind: z.literal('common') }),
  z.strictObject({ kind: z.literal('smooth'), lengthK: z.number().positive() }),
])
export type PointCorrelation = z.output<typeof PointCorrelation>

export const DISTRIBUTIONS = ['normal', 'rectangular', 'triangular', 'arcsine', 't'] as const

/** Divisor from the half-width of an interval to a standard uncertainty; JCGM 100:2008, 4.3.7 to 4.3.9. */
export const HALF_WIDTH_DIVISOR: Readonly<Record<'rectangular' | 'triangular' | 'arcsine', number>> = {
  rectangular: Math.sqrt(3),
  triangular: Math.sqrt(6),
  arcsine: Math.SQRT2,
}

const AtTemperature = z.strictObject({ celsius: z.number(), mk: z.number().nonnegative() })

export const TemplateComponent = z
  .strictObject({
    id: z.string().regex(/^[a-z0-9-]+$/, 'lower-case letters, digits and hyphens'),
    name: z.string().min(1),
    /** The name in other languages of a certificate; one that is absent is told as `name`. */
    names: z.partialRecord(z.enum(LANGUAGES), z.string().min(1)).optional(),
    origin: z.enum(COMPONENT_ORIGINS),
    kind: z.enum(['A', 'B']),
    distribution: z.enum(DISTRIBUTIONS),
    correlation: PointCorrelation,
    /** Degrees of freedom of the size itself; null: taken as exactly known, or from the readings for kind A. */
    degreesOfFreedom: z.number().positive().nullable(),
    /**
     * For `fixed`, `cell` and `reference-junction`: half-widths (rectangular, triangular, arcsine) or standard uncertainties (normal, t), mK, linear
     * between the temperatures named, the nearest beyond them.
     */
    values: z.array(AtTemperature).min(1).optional(),
    /**
     * For the origins that need one figure of judgement: `self-heating-*` the fraction of the self-heating taken as
     * its standard uncertainty; `reference-drift` mK per year at the water triple point; `hysteresis` the fraction of
     * the span of the comparison taken as the difference of up and down where none was measured.
     */
    figure: z.number().nonnegative().optional(),
    /**
     * What, measured in a session, stands in its place: a lift of the thermometer; residuals of a fit with points to spare, which
     * show how well the equation follows.
     */
    replacedBy: z.enum(['lift', 'residuals']).optional(),
    /** Taken into the points, or only into the curve drawn through them (the interpolation equation's own error). */
    actsOn: z.enum(['points', 'curve']).default('points'),
    /**
     * Another component before this one whose error this one partly shares, point by point: correlation coefficient r of the two.
     * Both are normal, each of one error, and hang together between points in the same way.
     */
    correlatedWith: z.strictObject({ component: z.string(), r: z.number().min(-1).max(1) }).optional(),
    source: z.string().min(1),
    explain: z.string().min(1),
    enabled: z.boolean().default(true),
  })
  .refine((c) => !['fixed', 'cell', 'reference-junction'].includes(c.origin) || c.values !== undefined, {
    message: 'a fixed component lists its values, and so does that of a cell or of a reference junction',
    path: ['values'],
  })
  .refine((c) => c.actsOn === 'points' || c.origin === 'fixed', {
    message: 'only a fixed component may act on the curve alone',
    path: ['actsOn'],
  })
export type TemplateComponent = z.output<typeof TemplateComponent>

/** Origins that are several errors at once: one coefficient cannot say how such a component hangs on another. */
const OF_SEVERAL_ERRORS: readonly string[] = [
  'bridge-linearity',
  'bridge-resolution',
  'resistor-calibration',
  'resistor-drift',
  'resistor-temperature',
  'reference-calibration',
] satisfies readonly (typeof COMPONENT_ORIGINS)[number][]

const isOneNormalError = (c: TemplateComponent) =>
  c.distribution === 'normal' && c.actsOn === 'points' && !OF_SEVERAL_ERRORS.includes(c.origin)

/** Whether every component that names another may be correlated with it. */
function correlationsHold(components: readonly TemplateComponent[]): boolean {
  return components.every((c, i) => {
    if (!c.correlatedWith) return true
    const other = components.slice(0, i).find(({ id }) => id === c.correlatedWith!.component)
    return (
      other !== undefined &&
      other.correlatedWith === undefined &&
      isOneNormalError(c) &&
      isOneNormalError(other) &&
      JSON.stringify(c.correlation) === JSON.stringify(other.correlation)
    )
  })
}

/** Which components a budget has, where each comes from and how it is distributed: a file that a laboratory edits. */
export const BudgetTemplate = z
  .strictObject({
    id: z.string().regex(/^[a-z0-9-]+$/),
    title: z.string().min(1),
    for: z.array(z.enum(THERMOMETER_KINDS)).min(1),
    note: z.string(),
    components: z.array(TemplateComponent).min(1),
    /** Smallest expanded uncertainty (k = 2) of the laboratory's accredited scope, linear between the temperatures named. */
    capability: z
      .array(z.strictObject({ celsius: z.number(), expandedMk: z.number().positive() }))
      .min(1)
      .optional(),
  })
  .refine((t) => new Set(t.components.map((c) => c.id)).size === t.components.length, {
    message: 'each component needs an id of its own',
    path: ['components'],
  })
  .refine((t) => correlationsHold(t.components), {
    message:
      'a component may be correlated with one that stands before it and names none itself; both are normal, act on the points, are ' +
      'one error each (not of bridge, resistor or certificate) and have the same correlation between points',
    path: ['components'],
  })
export type BudgetTemplate = z.output<typeof BudgetTemplate>

/** Reads a template a laboratory has edited. Throws ComparisonError 'bad-template' that names the first wrong place. */
export function parseBudgetTemplate(value: unknown): BudgetTemplate {
  const parsed = BudgetTemplate.safeParse(value)
  if (parsed.success) return parsed.data
  const first = parsed.error.issues[0]!
  const where = first.path.join('.') || 'the file'
  throw new ComparisonError('bad-template', said('budget-template-wrong', { where, said: first.message }), {
    where,
  })
}

/** The templates that come with the program. */
export const BUDGET_TEMPLATES: readonly BudgetTemplate[] = [
  standardPlatinum,
  industrialPlatinum,
  thermistor,
  thermocouple,
].map(parseBudgetTemplate)

/** Components that every budget has, whatever its template lists: each is zero until a session finds something. */
const ALWAYS: readonly TemplateComponent[] = always.map((c) => TemplateComponent.parse(c))

/** A template with the components of `ALWAYS` that it does not list itself. */
function whole(template: BudgetTemplate): BudgetTemplate {
  const origins = new Set(template.components.map((c) => c.origin))
  const absent = ALWAYS.filter((c) => !origins.has(c.origin))
  return absent.length === 0 ? template : { ...template, components: [...template.components, ...absent] }
}

/** The first template for a kind of thermometer; a laboratory's own come before the program's. */
export function templateFor(kind: KindName, own: readonly BudgetTemplate[] = []): BudgetTemplate {
  const all = [...own, ...BUDGET_TEMPLATES]
  return whole(all.find((t) => t.for.includes(kind)) ?? all.find((t) => t.id === KINDS[kind].template)!)
}
