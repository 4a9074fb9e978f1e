import type { BenchLine } from '../../app/contract/calls-laboratory.ts'
import { StillWater } from '../signs/StillWater.tsx'
import { bathWords, toGoWords } from './benches.model.ts'

interface Props {
  bench: BenchLine
  nowUtcUs: number
}

/** One bench: how it stands, and whether it asks for somebody. */
export function BenchCard({ bench: { name, own, silent, state }, nowUtcUs }: Props) {
  const facts = state
    ? [
        ['Setpoint', bathWords(state)],
        ['Done in', toGoWords(state.expectedEndUtcUs, nowUtcUs)],
        ['Session', state.session],
        ['Responsible', state.responsible],
      ].filter((fact): fact is [string, string] => Boolean(fact[1]))
    : []
  return (
    <li className={`bench-card${silent ? ' is-silent' : ''}`}>
      <h2>
        {name}
        {own && <span className="bench-own">this bench</span>}
      </h2>
      {state && !silent && state.phase !== 'idle' && <StillWater state={state.water} held={1} still />}
      <p className="bench-words">
        {silent
          ? 'Nothing has been heard of it for more than a minute. Go and look, or ask whoever works there.'
          : (state?.words ?? 'It has not said yet how it stands.')}
      </p>
      {facts.length > 0 && (
        <dl className="facts">
          {facts.map(([label, words]) => [
            <dt key={label}>{label}</dt>,
            <dd key={`${label} is`}>{words}</dd>,
          ])}
        </dl>
      )}
      {state && state.alarms.length > 0 && (
        <ul className="bench-alarms">
          {state.alarms.map(({ severity, words }) => (
            <li key={words} className={`is-${severity}`}>
              {words}
            </li>
          ))}
          {state.moreAlarms > 0 && <li>and {state.moreAlarms} more</li>}
        </ul>
      )}
    </li>
  )
}
