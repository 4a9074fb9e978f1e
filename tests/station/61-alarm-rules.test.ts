import { describe, expect, it, onTestFinished } from 'vitest'
import { ALARM_KINDS, ALARM_TABLE, type AlarmKind } from '../../app/contract/alarm-kinds.ts'
import { AlarmRules } from '../../app/contract/settings.ts'
import type { LinkView } from '../../app/contract/views.ts'
import { asTold } from '../../app/messages/said.ts'
import { Register } from '../../app/records/register.ts'
import { AlarmDesk } from '../../main/station/alarm-desk.ts'
import { AlarmWatch, type AlarmWatchParts, USUAL_RULES } from '../../main/station/alarm-watch.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { EVENING_US } from './box.ts'

type Rule = AlarmRules['rules'][number]

/** A watch over a station in which everything that a rule can speak of is wrong, with these rules. */
function watching(rules: readonly Partial<Rule>[]) {
  const clock = new VirtualClock({ startUtcUs: EVENING_US })
  const desk = new AlarmDesk(clock)
  const parsed = AlarmRules.parse({
    rules: rules.map((rule, i) => ({ id: `rule-${i}`, enabled: true, ...rule })),
  }).rules
  const channel = { id: 'ref', name: 'Reference', enabled: true }
  const run = {
    setup: { bench: { channels: [channel] }, register: Register.parse({}) },
    recorder: { now: () => ({ utcUs: EVENING_US, monoUs: 1000e6 }) },
    watch: { celsius: () => 99, judgement: () => ({ driftMkPerMin: 12 }) },
    runner: undefined,
    silenceS: () => 500,
  }
  const link = { instrument: 'bridge', name: 'Bridge', state: 'lost', words: 'gone' } as LinkView
  const watch = new AlarmWatch({
    clock,
    desk,
    rules: () => parsed,
    session: () => run as unknown as ReturnType<AlarmWatchParts['session']>,
    links: () => [link],
    freeBytes: () => 5,
    due: () => ({ total: 1, rows: [{ id: 'sprt', name: 'SPRT', due: '2026-03-02', facts: {} }] as never }),
  })
  desk.obey = (cause) => watch.obey(cause)
  onTestFinished(() => {
    watch.dispose()
    clock.stop()
  })
  const cause = (kind: AlarmKind, severity: Rule['severity']) => ({
    key: 'k',
    kind,
    severity,
    subject: null,
    said: asTold('w'),
  })
  const severities = () => desk.list().map(({ severity }) => severity)
  return { clock, desk, watch, cause, severities }
}

describe('a rule of every kind', () => {
  const limits: Partial<Record<AlarmKind, Partial<Rule>>> = {
    value: { above: 50 },
    drift: { above: 1 },
    silence: { above: 180 },
    disk: { below: 1e9 },
  }
  it.each(ALARM_KINDS.filter((kind) => ALARM_TABLE[kind].when === 'look'))(
    'is looked at by the station: %s',
    async (kind) => {
      const { clock, severities } = watching([{ kind, severity: 'notice', ...limits[kind] }])
      await clock.sleep(5_400_000)
      expect(severities()).toContain('notice')
    },
  )

  it('has what a person needs to know of it', () => {
    expect(Object.keys(ALARM_TABLE).toSorted()).toEqual([...ALARM_KINDS].toSorted())
    for (const { name, todo } of Object.values(ALARM_TABLE)) {
      expect(name).toMatch(/^[A-Z]/)
      expect(todo).toMatch(/^[A-Z].*\.$/)
    }
    for (const rule of USUAL_RULES) expect(rule.severity).toBe(ALARM_TABLE[rule.kind].severity)
  })
})

describe('a rule of gaps', () => {
  it('speaks of those longer than it says, and of all where it says nothing', () => {
    const { watch, desk } = watching([{ kind: 'gap', above: 60, severity: 'warning' }])
    watch.gapEnded('ref', asTold('a short one'), 60)
    expect(desk.list()).toEqual([])
    watch.gapEnded('ref', asTold('a long one'), 61)
    expect(desk.list()).toMatchObject([{ words: 'a long one', severity: 'warning', active: false }])
    const all = watching([{ kind: 'gap' }])
    all.watch.gapEnded('ref', asTold('any'), 1)
    expect(all.desk.list()).toHaveLength(1)
    const none = watching([{ kind: 'gap', enabled: false }])
    none.watch.gapEnded('ref', asTold('any'), 1000)
    expect(none.desk.list()).toEqual([])
  })
})

describe('rules of the bath and of the end of a plan', () => {
  it('give the severity, and are silent where they are switched off', () => {
    const lowered = watching([
      { kind: 'bath', severity: 'warning' },
      { kind: 'plan-end', severity: 'alarm' },
    ])
    lowered.desk.raise(lowered.cause('bath', 'alarm'))
    lowered.desk.raise({ ...lowered.cause('plan-end', 'notice'), key: 'end' })
    expect(lowered.severities()).toEqual(['alarm', 'warning'])
    const off = watching([
      { kind: 'bath', enabled: false },
      { kind: 'plan-end', enabled: false },
    ])
    off.desk.raise(off.cause('bath', 'alarm'))
    off.desk.raise({ ...off.cause('plan-end', 'warning'), key: 'end' })
    // What the disk says is not theirs.
    off.desk.raise({ ...off.cause('disk', 'alarm'), key: 'disk' })
    expect(off.severities()).toEqual(['alarm'])
  })

  it('leave a plan that ended otherwise than it should a warning, and a remark of the bath a remark', () => {
    const { desk, cause, severities } = watching([
      { kind: 'bath', severity: 'alarm' },
      { kind: 'plan-end', severity: 'notice' },
    ])
    desk.raise(cause('plan-end', 'warning'))
    desk.raise({ ...cause('bath', 'notice'), key: 'bath' })
    expect(severities()).toEqual(['notice', 'warning'])
  })
})

describe('a shutdown of the computer', () => {
  it('is told whatever the rule of the bath says, and where there is none of its own', () => {
    const { desk, cause, severities } = watching([{ kind: 'bath', enabled: false }])
    desk.raise(cause('computer-ends', 'alarm'))
    expect(severities()).toEqual(['alarm'])
  })

  it('obeys a rule of its own, also one that silences it', () => {
    const lowered = watching([{ kind: 'computer-ends', severity: 'warning' }])
    lowered.desk.raise(lowered.cause('computer-ends', 'alarm'))
    expect(lowered.severities()).toEqual(['warning'])
    const off = watching([{ kind: 'computer-ends', enabled: false }])
    off.desk.raise(off.cause('computer-ends', 'alarm'))
    expect(off.severities()).toEqual([])
  })
})
