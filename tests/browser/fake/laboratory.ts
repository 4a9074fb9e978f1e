import type { BenchLine, Undecided } from '../../../app/contract/calls-laboratory.ts'
import type { BenchState } from '../../../app/records/bench-state.ts'

const NIGHT: BenchState = {
  words: 'Setpoint 3 of 5, 100 °C: measuring',
  phase: 'measuring',
  water: 'flat',
  session: 'Air probes of March',
  responsible: 'I. Marlow',
  setpointC: 100,
  bathC: 99.98,
  expectedEndUtcUs: null,
  alarms: [],
  moreAlarms: 0,
  inUse: ['sprt-1'],
}

/** A laboratory of four: one at work, one that asks for somebody, one at rest, one not heard of. */
export const BENCHES: BenchLine[] = [
  { station: 'a', name: 'By the window', own: true, silent: false, state: NIGHT },
  {
    ...{ station: 'b', name: 'Hot bath', own: false, silent: false },
    state: {
      ...NIGHT,
      words: 'Setpoint 5 of 6, 420 °C: waiting until settled',
      water: 'choppy',
      setpointC: 420,
      bathC: 412.31,
      alarms: [
        { severity: 'alarm', words: 'SPRT-2 is out of use since 2026-03-01: recalled by its laboratory.' },
        { severity: 'warning', words: 'The bath drifts away from its setpoint.' },
      ],
      moreAlarms: 2,
    },
  },
  {
    ...{ station: 'c', name: 'Cold bath', own: false, silent: false },
    state: { ...NIGHT, words: 'No session.', phase: 'idle', water: 'over', session: null, responsible: null },
  },
  { station: 'd', name: 'Fixed points', own: false, silent: true, state: null },
]

const side = (hash: string, bench: string, who: string, values: string[]) => ({
  ...{
    hash: hash.repeat(64),
    who,
    bench,
    utcUs: Date.UTC(2026, 2, 1, 18) * 1000,
    why: 'certificate of today',
  },
  ...{ holds: hash === 'a', state: 'kept' as const, values },
})

export const UNDECIDED: Undecided[] = [
  {
    kind: 'thermometer',
    id: 'sprt-1',
    name: 'SPRT 1',
    fields: ['calibrations 2 conversion rWtp', 'calibrations 2 due'],
    sides: [
      side('a', 'By the window', 'I. Marlow', ['25.4912', '2027-03-01']),
      side('b', 'Hot bath', 'T. Okafor-Lind', ['25.4921', '2028-03-01']),
    ],
  },
]
