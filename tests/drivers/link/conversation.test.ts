import { describe, expect, it } from 'vitest'
import type { Conversation } from '../../../drivers/link/conversation.ts'
import { ask, talkTo } from './wire-stub.ts'

describe('Conversation', () => {
  it('gives the reply as it came, and when its last byte came', async () => {
    const { talk, sayAfter, sent } = talkTo()
    const outcome = talk.exchange(ask('READ?'))
    sayAfter(30, '+1.25')
    sayAfter(60, '0\n')
    expect(await outcome).toMatchObject({ kind: 'reply', text: '+1.250', at: { monoUs: 60_000 } })
    expect(sent).toEqual(['READ?\n'])
    expect(talk.dirty).toBe(false)
  })

  it('calls silence silence after the deadline and the time in which a late answer may come', async () => {
    const { talk, clock } = talkTo()
    expect(await talk.exchange(ask('READ?'))).toMatchObject({ kind: 'silent', text: '' })
    expect(clock.now().monoUs).toBe(1_500_000)
    expect(talk.dirty).toBe(true)
  })

  it('marks an answer after its deadline as late, and trusts the link no more', async () => {
    const { talk, sayAfter } = talkTo()
    const outcome = talk.exchange(ask('READ?'))
    sayAfter(1200, '+1.25\n')
    expect(await outcome).toMatchObject({ kind: 'late', text: '+1.25' })
    expect(talk.dirty).toBe(true)
  })

  it('never takes a late answer for the next one’s', async () => {
    const { talk, sayAfter, say, clock, sent } = talkTo()
    const first = talk.exchange(ask('READ 1?'))
    sayAfter(1900, '+1.1\n')
    expect((await first).kind).toBe('silent')
    expect((await talk.exchange(ask('READ 2?'))).kind).toBe('garbled')
    expect(sent).toEqual(['READ 1?\n'])
    // Recovery: drain, then a question with an answer one knows.
    expect(await talk.drain(50, 2000)).toBe(true)
    const sentinel = talk.exchange(ask('*IDN?', { accept: (text: string) => text === 'ME' }))
    say('+1.1\n')
    sayAfter(20, 'ME\n')
    expect((await sentinel).kind).toBe('reply')
    talk.trust()
    const second = talk.exchange(ask('READ 2?'))
    sayAfter(10, '+2.2\n')
    expect(await second).toMatchObject({ kind: 'reply', text: '+2.2' })
    clock.stop()
  })

  it('calls a reply that breaks off garbled, after the pause between bytes, not the whole deadline', async () => {
    const { talk, sayAfter, clock, received } = talkTo()
    const outcome = talk.exchange(ask('READ?'))
    sayAfter(50, '+1.2')
    expect(await outcome).toMatchObject({ kind: 'garbled', text: '+1.2' })
    expect(clock.now().monoUs).toBe(150_000)
    // What came of it stands among the traffic.
    expect(received).toEqual(['+1.2'])
  })

  it('ends a reply that dribbles on, byte by byte, when the whole takes too long', async () => {
    const { talk, sayAfter, clock } = talkTo()
    const outcome = talk.exchange(ask('READ?', { replyMs: 500 }))
    for (let ms = 10; ms < 5000; ms += 50) sayAfter(ms, '1')
    expect((await outcome).kind).toBe('garbled')
    expect(clock.now().monoUs).toBeLessThan(700_000)
    clock.stop()
  })

  it('believes neither of two answers that come at once', async () => {
    const { talk, say } = talkTo()
    const outcome = talk.exchange(ask('READ?'))
    say('+1.1\n+1.2\n')
    expect((await outcome).kind).toBe('garbled')
    expect(talk.dirty).toBe(true)
  })

  it('distrusts the link when bytes come that nobody asked for', async () => {
    const { talk, say } = talkTo()
    say('+1.1\n')
    expect(talk.dirty).toBe(true)
    const other = talkTo()
    other.say('+1')
    expect((await other.talk.exchange(ask('READ?'))).kind).toBe('garbled')
    expect(other.sent).toEqual([])
  })

  it('takes the echo for an echo and nothing else for it', async () => {
    const { talk, say } = talkTo()
    const good = talk.exchange(ask('READ?', { echo: 'READ?' }))
    say('READ?\n+1.1\n')
    expect(await good).toMatchObject({ kind: 'reply', text: '+1.1' })
    const bad = talk.exchange(ask('READ?', { echo: 'READ?' }))
    say('+1.1\n')
    expect((await bad).kind).toBe('garbled')
  })

  it('ends at the prompt, with as many lines as came before it', async () => {
    const { talk, say } = talkTo({ tokens: ['>'] })
    const silentSetting = talk.exchange(ask('SET', { replies: 0, prompt: '>' }))
    say('>')
    expect(await silentSetting).toMatchObject({ kind: 'reply', text: '' })
    const complaint = talk.exchange(ask('SET', { replies: 0, prompt: '>' }))
    say('E02\n>')
    expect(await complaint).toMatchObject({ kind: 'reply', text: 'E02' })
    const early = talk.exchange(ask('READ?', { prompt: '>' }))
    say('>')
    expect((await early).kind).toBe('garbled')
  })

  it('keeps the least pause between the end of one exchange and the next line', async () => {
    const { talk, sayAfter, clock } = talkTo({}, { gapMs: 40 })
    const first = talk.exchange(ask('A'))
    sayAfter(10, '1\n')
    await first
    const second = talk.exchange(ask('B'))
    clock.after(60, () => talk.push(Buffer.from('2\n')))
    expect(await second).toMatchObject({ kind: 'reply', text: '2' })
    expect(clock.now().monoUs).toBeGreaterThanOrEqual(50_000)
  })

  it('looks again after that pause: what has come or gone meanwhile keeps the line from being sent', async () => {
    for (const [meanwhile, kind] of [
      [(talk: Conversation) => talk.push(Buffer.from('7\n')), 'garbled'],
      [(talk: Conversation) => talk.close('unplugged'), 'lost'],
      // Somebody else was quicker: two questions are never under way at once.
      [(talk: Conversation) => void talk.drain(1000, 2000), 'garbled'],
    ] as const) {
      const { talk, sayAfter, clock, sent } = talkTo({}, { gapMs: 40 })
      const first = talk.exchange(ask('A'))
      sayAfter(10, '1\n')
      await first
      const second = talk.exchange(ask('B'))
      clock.after(20, () => meanwhile(talk))
      expect(await second).toMatchObject({ kind })
      expect(sent).toEqual(['A\n'])
      clock.stop()
    }
  })

  it('ends what waits as lost when the wire goes, and sends nothing afterwards', async () => {
    const { talk, clock, sent } = talkTo()
    const outcome = talk.exchange(ask('READ?'))
    clock.after(100, () => talk.close('unplugged'))
    expect(await outcome).toMatchObject({ kind: 'lost', words: 'unplugged' })
    expect((await talk.exchange(ask('READ?'))).kind).toBe('lost')
    expect(sent).toEqual(['READ?\n'])
  })

  it('does not wait for ever for a device that never stops talking', async () => {
    const { talk, clock } = talkTo()
    const chatter = () => {
      talk.push(Buffer.from('UUUUUUUUUU'))
      clock.after(5, chatter)
    }
    chatter()
    expect(await talk.drain(50, 1000)).toBe(false)
    expect(clock.now().monoUs).toBeLessThan(1_200_000)
    clock.stop()
  })

  it('hands over a reply that silence ends', async () => {
    const { talk, sayAfter } = talkTo({ end: { kind: 'silence', ms: 30 } })
    const outcome = talk.exchange(ask('READ'))
    sayAfter(10, '+1.')
    sayAfter(25, '25')
    expect(await outcome).toMatchObject({ kind: 'reply', text: '+1.25' })
    expect(talk.dirty).toBe(false)
  })
})
