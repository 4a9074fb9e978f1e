import { describe, expect, it } from 'vitest'
import { themed } from '../../../renderer/points/Report.tsx'

const PAPER =
  '<meta name="color-scheme" content="light dark"><style>@media (prefers-color-scheme:dark){body{color:#fff}}</style>'

describe('themed', () => {
  it('shows a report in the theme of the window, whatever the system has', () => {
    expect(themed(PAPER, 'dark')).toBe(
      '<meta name="color-scheme" content="dark"><style>@media screen{body{color:#fff}}</style>',
    )
    expect(themed(PAPER, 'light')).toBe(
      '<meta name="color-scheme" content="light"><style>@media not all{body{color:#fff}}</style>',
    )
  })
})
