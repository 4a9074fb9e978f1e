import { useId } from 'react'
import type { StripPicture, StripSign, StripStep } from './night.model.ts'

interface Props {
  picture: StripPicture
  /** Part of the night that is looked at, in per cent. */
  looked: { from: number; to: number } | undefined
  small: boolean | undefined
  /** Where the keys stand, in per cent. */
  stopAt: number | undefined
}

/** The band itself: gaps, steps, signs and now. */
export function StripDrawing({ picture, looked, small, stopAt }: Props) {
  const hatch = useId()
  return (
    <svg className="strip-drawing" aria-hidden="true">
      <defs>
        <pattern id={hatch} width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <line x1="0" y1="0" x2="0" y2="5" className="strip-hatch" />
        </pattern>
      </defs>
      {picture.signs
        .filter((s) => s.kind === 'gap')
        .map((s) => (
          <rect
            key={`gap${s.utcUs}`}
            x={`${s.at}%`}
            width={`${Math.max(0.3, s.to - s.at)}%`}
            y="0"
            height={small ? '84%' : '72%'}
            fill={`url(#${hatch})`}
          />
        ))}
      {picture.steps.map((step, i) => (
        <Step
          key={`${step.expected}-${step.from}-${step.y}`}
          step={step}
          next={picture.steps[i + 1]}
          now={picture.now}
          small={small}
        />
      ))}
      {picture.signs.map((s) => (
        <Sign key={`${s.kind}${s.utcUs}${s.words}`} sign={s} />
      ))}
      {picture.now !== undefined && (
        <line className="strip-now" x1={`${picture.now}%`} x2={`${picture.now}%`} y1="0" y2="100%" />
      )}
      {looked && (
        <rect
          className="strip-looked"
          x={`${looked.from}%`}
          width={`${Math.max(0.2, looked.to - looked.from)}%`}
          y="0"
          height="100%"
        />
      )}
      {stopAt !== undefined && (
        <line className="strip-stop" x1={`${stopAt}%`} x2={`${stopAt}%`} y1="0" y2="100%" />
      )}
    </svg>
  )
}

interface StepProps {
  step: StripStep
  next: StripStep | undefined
  now: number | undefined
  small: boolean | undefined
}

function Step({ step, next, now, small }: StepProps) {
  // What of a step has been; the rest of it lies ahead and is dashed.
  const gone = Math.min(step.to, Math.max(step.from, now ?? step.to))
  return (
    <g className={step.expected ? 'strip-step is-expected' : 'strip-step'}>
      <line x1={`${step.from}%`} x2={`${gone}%`} y1={`${step.y}%`} y2={`${step.y}%`} />
      {gone < step.to && (
        <line
          className="strip-ahead"
          x1={`${gone}%`}
          x2={`${step.to}%`}
          y1={`${step.y}%`}
          y2={`${step.y}%`}
        />
      )}
      {next && (
        <line
          x1={`${step.to}%`}
          x2={`${step.to}%`}
          y1={`${step.y}%`}
          y2={`${next.y}%`}
          className="strip-riser"
        />
      )}
      {!small && step.to - step.from > 5 && (
        <text
          x={`${step.from}%`}
          y={`${step.y}%`}
          dx="5"
          dy={step.y < 34 ? 13 : -5}
          className="strip-celsius"
        >
          {step.label}
        </text>
      )}
      {step.settledAt !== undefined && (
        <line
          className="strip-settled"
          x1={`${step.settledAt}%`}
          x2={`${Math.min(step.to, now ?? 100)}%`}
          y1={`${step.y}%`}
          y2={`${step.y}%`}
        />
      )}
    </g>
  )
}

function Sign({ sign }: { sign: StripSign }) {
  const place = { x: `${sign.at}%`, y: `${sign.y}%`, overflow: 'visible' }
  switch (sign.kind) {
    case 'point':
    case 'expected-point':
      return (
        <svg {...place} aria-hidden="true">
          <circle r="4.2" className={sign.kind === 'point' ? 'strip-point' : 'strip-point is-expected'} />
        </svg>
      )
    case 'alarm':
      return (
        <svg x={`${sign.at}%`} y="0" overflow="visible" aria-hidden="true">
          <path d="M-6 1h12l-6 11z" className={sign.isWarning ? 'strip-alarm is-warning' : 'strip-alarm'} />
        </svg>
      )
    case 'note':
      return (
        <svg x={`${sign.at}%`} y="84%" overflow="visible" aria-hidden="true">
          <path d="M0 0v-12h8v5h-8" className="strip-note" />
        </svg>
      )
    default:
      return null
  }
}
