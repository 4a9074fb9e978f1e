import { PassThrough } from 'node:stream'
import { describe, expect, it } from 'vitest'
import { PartDone, runBar } from '../../main/host/run-bar.ts'
import type { Station } from '../../main/station/station.ts'

const at = (utcUs: number, startedUtcUs: number | null, expectedEndUtcUs: number | null) => ({
  utcUs,
  runner: { startedUtcUs, expectedEndUtcUs },
})

describe('PartDone', () => {
  it('never falls when the end is expected later than before, and goes on from there', () => {
    const part = new PartDone()
    const told = [
      at(0, null, null),
      at(490, 0, 500),
      // The bath takes longer than was thought.
      at(500, 0, 568),
      at(560, 0, 568),
    ].map((moment) => part.at(moment))
    expect(told[0]).toBe(0)
    expect(told[1]).toBe(0.98)
    expect(told[2]).toBe(0.98)
    expect(told[3]).toBeCloseTo(560 / 568, 12)
  })

  it('is not whole before the plan has ended, and asks nothing of an end that is not after the start', () => {
    const part = new PartDone()
    expect(part.at(at(700, 0, 600))).toBeLessThan(1)
    expect(part.at(at(700, 700, 700))).toBeLessThan(1)
    expect(part.at(at(701, 700, null))).toBeLessThan(1)
  })
})

/** A terminal that keeps what is written on it. */
class Terminal extends PassThrough {
  readonly isTTY = true
  readonly columns = 200
  text = ''
  override write(chunk: unknown): boolean {
    this.text += String(chunk)
    return true
  }
}

describe('the bar in the terminal', () => {
  it('says 100 % when the plan has ended and not before, whatever the end was expected to be on the way', () => {
    const looks = [at(0, null, null), at(980, 0, 1000), at(990, 0, 1125)]
    let listener = () => {}
    let look = looks[0]!
    const station = {
      onDidChange: {
        on: (heard: () => void) => {
          listener = heard
          return { dispose: () => {} }
        },
      },
      state: () => ({ ...look, runner: { ...look.runner, words: 'Waiting until the bath is settled.' } }),
    } as unknown as Station
    const terminal = new Terminal()
    const bar = runBar(station, terminal)
    for (const next of looks) {
      look = next
      listener()
    }
    expect(terminal.text).not.toContain('100%')
    bar.dispose()
    const percents = [...terminal.text.matchAll(/(\d+)%/g)].map(([, n]) => Number(n))
    expect(percents).toEqual([...percents].sort((a, b) => a - b))
    expect(percents.at(-1)).toBe(100)
    expect(terminal.text).toContain('The plan has ended.')
  })
})
