import type { AlarmView, StationState } from '../../app/contract/views.ts'

export interface LineFact {
  name: string
  words: string
  wrong: boolean
  /** May be cut short where there is little room. */
  long?: boolean
}
export interface LineView {
  joining: string
  facts: LineFact[]
}

/** What the state line says. */
export function lineView(state: StationState | undefined, joiningWords: string): LineView {
  if (!state) return { joining: joiningWords, facts: [] }
  const lost = state.links.filter((link) => link.state === 'lost')
  const ready = state.links.filter((link) => link.state === 'ready').length
  const facts: LineFact[] = [
    { name: 'Bench', words: state.bench?.name ?? 'none yet', wrong: false, long: true },
    { name: 'Session', words: state.session?.name ?? 'none', wrong: false, long: true },
  ]
  if (state.runner.phase !== 'idle')
    facts.push({ name: 'Plan', words: state.runner.words, wrong: false, long: true })
  if (state.links.length > 0) {
    facts.push({
      name: 'Links',
      words:
        lost.length > 0
          ? `${lost.map((l) => l.name).join(', ')}: no answer`
          : `${ready} of ${state.links.length} ready`,
      wrong: lost.length > 0,
    })
  }
  facts.push({ name: 'Disk', words: state.disk.words, wrong: state.disk.low })
  return { joining: joiningWords, facts }
}

/** Alarms that still want a person, the gravest and newest first. */
export function openAlarms(alarms: readonly AlarmView[]): AlarmView[] {
  const rank = { alarm: 0, warning: 1, notice: 2 }
  return alarms
    .filter((alarm) => alarm.active && alarm.acknowledgedBy === null)
    .sort((a, b) => rank[a.severity] - rank[b.severity] || b.utcUs - a.utcUs)
}
