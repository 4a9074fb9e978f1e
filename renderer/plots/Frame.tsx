import { type ReactNode, useId } from 'react'
import { type Axis, MARGIN } from './axes.ts'

interface Props {
  x: Axis
  y: Axis
  width: number
  height: number
  xTitle: string
  yTitle: string
  children: ReactNode
}

/** Grid, numbers and titles of a drawing. */
export function Frame({ x, y, width, height, xTitle, yTitle, children }: Props) {
  const id = useId()
  const right = width - MARGIN.right
  const bottom = height - MARGIN.bottom
  return (
    <>
      <g className="plot-grid">
        {y.ticks.map(({ px, text }) => (
          <g key={text}>
            <line x1={MARGIN.left} x2={right} y1={px} y2={px} />
            <text x={MARGIN.left - 8} y={px + 4} textAnchor="end">
              {text}
            </text>
          </g>
        ))}
        {x.ticks.map(({ value, px, text }) => (
          <g key={value}>
            <line x1={px} x2={px} y1={MARGIN.top} y2={bottom} />
            <text x={px} y={bottom + 16} textAnchor="middle">
              {text}
            </text>
          </g>
        ))}
        <text className="plot-title" x={(MARGIN.left + right) / 2} y={height - 6} textAnchor="middle">
          {xTitle}
        </text>
        <text
          className="plot-title"
          textAnchor="middle"
          transform={`translate(13 ${(MARGIN.top + bottom) / 2}) rotate(-90)`}
        >
          {yTitle}
        </text>
      </g>
      <clipPath id={id}>
        <rect x={MARGIN.left} y={MARGIN.top} width={right - MARGIN.left} height={bottom - MARGIN.top} />
      </clipPath>
      <g clipPath={`url(#${id})`}>{children}</g>
    </>
  )
}
