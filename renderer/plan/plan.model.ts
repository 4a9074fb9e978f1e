import { counted } from '../../app/base/plural.ts'
import type { PlanPreview } from '../../app/contract/studies.ts'
import type { StripMark } from '../../app/contract/views.ts'
import { Plan, type SettlingRule } from '../../app/records/plan.ts'
import { CELSIUS_UNITS, fixed, readNumber, SECOND_UNITS } from '../text/numbers.ts'
import { PRESETS, RULE_FIELDS, type RuleField, type RuleTexts, textsOf } from './rule.model.ts'
import { type Row, readSetpoints, row, spread, thereAndBack } from './setpoints.model.ts'

/** A plan as it is typed: numbers are still text, so that a half-typed one is not lost. */
export interface PlanDraft {
  id: string
  name: string
  rows: readonly Row[]
  rule: RuleTexts
  order: Plan['order']
  cycles: string
  maxWait: string
  onTimeout: Plan['onTimeout']
  ramp: string
  wtpCheck: boolean
  insulationCheck: boolean
  atEnd: Plan['atEnd']
  channels: readonly string[]
  adaptive: number
  confidence: number
}

export const ORDER_WORDS: Record<Plan['order'], { name: string; about: string }> = {
  sequence: {
    name: 'One after another',
    about: 'Reference, then each thermometer once. Fast; a drifting bath shows as a difference.',
  },
  symmetric: {
    name: 'There and back',
    about: 'Reference, each in turn, and back again. A steady drift cancels.',
  },
  interleaved: {
    name: 'Reference between all',
    about: 'The reference is read before and after every thermometer. Slow and safest.',
  },
}

export const TIMEOUT_WORDS: Record<Plan['onTimeout'], string> = {
  'take-marked': 'Take the point anyway and mark it',
  skip: 'Skip to the next setpoint',
  stop: 'Stop safely',
  extend: 'Wait as long again',
}

/** `wtpCheck`: the reference of the bench is a standard platinum thermometer, of which R(WTP) tells whether it has held. */
export function newPlan(id: string, wtpCheck = false): PlanDraft {
  return {
    id,
    name: 'New plan',
    rows: [row('')],
    rule: textsOf(PRESETS[1]!.rule),
    order: 'symmetric',
    cycles: '3',
    maxWait: '4 h',
    onTimeout: 'take-marked',
    ramp: '',
    wtpCheck,
    insulationCheck: false,
    atEnd: 'safe',
    channels: [],
    adaptive: 1,
    confidence: 0.95,
  }
}

export function draftOf(plan: Plan): PlanDraft {
  return {
    id: plan.id,
    name: plan.name,
    rows: plan.setpoints.map((s) => row(String(s.celsius), s.label ?? '', s)),
    rule: textsOf(plan.settling),
    order: plan.order,
    cycles: String(plan.cycles),
    maxWait: plan.maxWaitS % 3600 === 0 ? `${plan.maxWaitS / 3600} h` : `${plan.maxWaitS / 60} min`,
    onTimeout: plan.onTimeout,
    ramp: plan.rampKPerMin === undefined ? '' : String(plan.rampKPerMin),
    wtpCheck: plan.wtpCheck,
    insulationCheck: plan.insulationCheck ?? false,
    atEnd: plan.atEnd,
    channels: plan.settling.channels,
    adaptive: plan.settling.adaptive,
    confidence: plan.settling.confidence,
  }
}

export type PlanAct =
  | { do: 'set'; part: Partial<PlanDraft> }
  | { do: 'load'; draft: PlanDraft }
  | { do: 'row'; key: number; part: Partial<PlanDraft['rows'][number]> }
  | { do: 'add' }
  | { do: 'remove'; key: number }
  | { do: 'leave-out'; celsius: number }
  | { do: 'move'; key: number; by: number }
  | { do: 'paste'; key: number; text: string }
  | { do: 'spread'; from: number; to: number; count: number; back: boolean }
  /** The same temperatures once more on the way back, without repeating the turn. */
  | { do: 'turn' }
  | { do: 'preset'; id: string }
  | { do: 'rule'; field: RuleField; text: string }

export function planReduce(draft: PlanDraft, act: Exclude<PlanAct, { do: 'load' }>): PlanDraft {
  switch (act.do) {
    case 'set':
      return { ...draft, ...act.part }
    case 'row':
      return { ...draft, rows: draft.rows.map((r) => (r.key === act.key ? { ...r, ...act.part } : r)) }
    case 'add':
      return { ...draft, rows: [...draft.rows, row('')] }
    case 'remove':
      return draft.rows.length === 1 ? draft : { ...draft, rows: draft.rows.filter((r) => r.key !== act.key) }
    case 'leave-out': {
      const kept = draft.rows.filter((r) => readNumber(r.celsius, CELSIUS_UNITS) !== act.celsius)
      return kept.length === 0 || kept.length === draft.rows.length ? draft : { ...draft, rows: kept }
    }
    case 'turn':
      return { ...draft, rows: thereAndBack(draft.rows) }
    case 'move': {
      const at = draft.rows.findIndex((r) => r.key === act.key)
      const to = at + act.by
      if (at < 0 || to < 0 || to >= draft.rows.length) return draft
      const rows = [...draft.rows]
      const [moved] = rows.splice(at, 1)
      rows.splice(to, 0, moved!)
      return { ...draft, rows }
    }
    case 'paste': {
      const pasted = readSetpoints(act.text)
      if (pasted.length < 2) return draft
      const at = draft.rows.findIndex((r) => r.key === act.key)
      const kept = draft.rows.filter((r, i) => i !== at || r.celsius.trim() !== '')
      return {
        ...draft,
        rows: [...kept.slice(0, at), ...pasted.map((p) => row(p.celsius, p.label)), ...kept.slice(at)],
      }
    }
    case 'spread':
      return {
        ...draft,
        rows: spread(act.from, act.to, act.count, act.back).map((s) => row(s.celsius, s.label)),
      }
    case 'preset': {
      const preset = PRESETS.find(({ id }) => id === act.id)
      return preset ? { ...draft, rule: textsOf(preset.rule) } : draft
    }
    case 'rule':
      return { ...draft, rule: { ...draft.rule, [act.field]: act.text } }
  }
}

export interface ReadPlan {
  plan: Plan | undefined
  /** By field, or by 'row-<key>'. */
  problems: Record<string, string>
}

export function readPlan(draft: PlanDraft): ReadPlan {
  const problems: Record<string, string> = {}
  const number = (
    field: string,
    text: string,
    units: Record<string, number>,
    words: string,
    least = 0,
  ): number => {
    const value = readNumber(text, units)
    if (value === undefined || value < least) problems[field] = words
    return value ?? Number.NaN
  }
  const setpoints = draft.rows.map(({ key, celsius, label, selfHeating, exchange, lift }) => ({
    celsius: number(`row-${key}`, celsius, CELSIUS_UNITS, 'A temperature such as 100 or 99,974', -273.15),
    selfHeating,
    ...(exchange && { exchange }),
    ...(lift && { lift }),
    ...(label.trim() === '' ? {} : { label: label.trim() }),
  }))
  const rule = Object.fromEntries(
    (Object.keys(RULE_FIELDS) as RuleField[]).map((f) => [
      f,
      number(
        f,
        draft.rule[f],
        RULE_FIELDS[f].units,
        `A number of ${RULE_FIELDS[f].unit}${f === 'holdS' ? '' : ' above 0'}`,
        f === 'holdS' ? 0 : Number.MIN_VALUE,
      ),
    ]),
  ) as Record<RuleField, number>
  const cycles = number('cycles', draft.cycles, {}, 'A whole number from 1', 1)
  const maxWaitS = number('maxWait', draft.maxWait, SECOND_UNITS, 'A time such as 4 h or 90 min', 1)
  const ramp =
    draft.ramp.trim() === ''
      ? undefined
      : number(
          'ramp',
          draft.ramp,
          { 'K/min': 1 },
          'A rate in K/min, or nothing for one step',
          Number.MIN_VALUE,
        )
  if (draft.name.trim() === '') problems.name = 'A plan needs a name'
  if (Object.keys(problems).length > 0) return { plan: undefined, problems }
  const settling: SettlingRule = {
    ...rule,
    confidence: draft.confidence,
    channels: [...draft.channels],
    adaptive: draft.adaptive,
  }
  const parsed = Plan.safeParse({
    id: draft.id,
    name: draft.name.trim(),
    setpoints,
    settling,
    order: draft.order,
    cycles: Math.round(cycles),
    maxWaitS,
    onTimeout: draft.onTimeout,
    wtpCheck: draft.wtpCheck,
    ...(draft.insulationCheck && { insulationCheck: true }),
    atEnd: draft.atEnd,
    ...(ramp === undefined ? {} : { rampKPerMin: ramp }),
  })
  if (parsed.success) return { plan: parsed.data, problems }
  return {
    plan: undefined,
    problems: { name: parsed.error.issues[0]?.message ?? 'This plan is not complete' },
  }
}

/** The night of a preview as marks for the strip, begun now. */
export function previewMarks(preview: PlanPreview, startUtcUs: number): StripMark[] {
  const at = (s: number) => Math.round(startUtcUs + s * 1e6)
  return preview.steps.flatMap((step): StripMark[] => [
    {
      kind: 'expected-setpoint',
      fromUtcUs: at(step.startS),
      toUtcUs: at(step.endS),
      words: `Setpoint ${step.step + 1}: ${fixed(step.celsius, 2)} °C`,
      celsius: step.celsius,
    },
    {
      kind: 'expected-point',
      fromUtcUs: at(step.endS - step.actsS - step.measureS),
      toUtcUs: at(step.endS - step.actsS),
      words: `Point ${step.step + 1}`,
      celsius: step.celsius,
    },
  ])
}

/** Warnings that must be taken on, and whether anything forbids the start. */
export function startable(
  preview: PlanPreview | undefined,
  accepted: readonly string[],
): { ready: boolean; why: string } {
  if (!preview) return { ready: false, why: 'The preview is not there yet.' }
  const stop = preview.checks.find((c) => c.severity === 'stop')
  if (stop) return { ready: false, why: stop.words }
  const open = preview.checks.filter((c) => c.severity === 'warning' && !accepted.includes(c.id))
  if (open.length > 0)
    return {
      ready: false,
      why:
        open.length === 1
          ? 'One warning is not accepted yet.'
          : `${counted(open.length, 'warning is', 'warnings are')} not accepted yet.`,
    }
  return { ready: true, why: '' }
}
