import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { replayTranscript } from '../../../drivers/index.ts'
import { checkProfile, tellProblem } from '../../../drivers/profile/check.ts'
import { VirtualClock } from '../../../main/station/clocks/virtual.ts'

const page = readFileSync(new URL('../../../docs/profiles.md', import.meta.url), 'utf8')
const examples = [...page.matchAll(/^### ([^\n]+)\n(?:(?!^### )[\s\S])*?^```json\n([\s\S]*?)^```$/gm)].map(
  ([, title = '', text = '']) => [title, text] as const,
)

describe('the worked examples of docs/profiles.md', () => {
  it('are one for each bus', () => {
    const buses = ['network socket', 'serial port', 'HiSLIP or VXI-11', 'USB', 'Modbus']
    expect(examples.map(([title]) => buses.find((bus) => title.includes(bus)))).toEqual(buses)
  })

  it.each(examples)('%s: passes its check and says what its transcript says', async (_title, text) => {
    const checked = checkProfile(text, 'docs/profiles.md')
    expect(checked.ok ? [] : checked.problems.map(tellProblem)).toEqual([])
    if (!checked.ok) return
    const clock = new VirtualClock({ startUtcUs: 0 })
    expect(
      await replayTranscript({ profile: checked.profile, source: 'docs/profiles.md', text }, clock),
    ).toEqual([])
    clock.stop()
    expect(checked.profile.transcript.length).toBeGreaterThan(1)
  })
})
