import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { MessageEnd } from '../../../drivers/link/message-end.ts'
import { isTaken, takeAddress } from '../../../drivers/link/owners.ts'
import { escapeBytes, Traffic } from '../../../drivers/link/traffic.ts'
import { Haste } from '../../../drivers/profile/haste.ts'

describe('MessageEnd', () => {
  /** What a reader hears of a message in these parts. */
  function heard(terminator: string, parts: readonly string[]): string {
    let text = ''
    const end = new MessageEnd(terminator, {
      data: (chunk, ended = false) => {
        text += Buffer.from(chunk).toString('latin1') + (ended ? '|' : '')
      },
    })
    for (const part of parts) end.data(Buffer.from(part, 'latin1'))
    end.end()
    return text
  }

  it('ends a message with the terminator that is expected, once, whether it was sent or not', () => {
    expect(heard('\n', ['1.5'])).toBe('1.5\n|')
    expect(heard('\n', ['1.5\n'])).toBe('1.5\n|')
    expect(heard('\n', ['1\n5'])).toBe('1\n5\n|')
    expect(heard('\n', [])).toBe('\n|')
    expect(heard('', ['1.5'])).toBe('1.5|')
    expect(heard('\r\n', ['1.5\n'])).toBe('1.5\n\r\n|')
    expect(heard('\r\n', ['1.5\r'])).toBe('1.5\r\r\n|')
    expect(heard('\r\n', ['\n'])).toBe('\n\r\n|')
    expect(heard('\r\n', ['1.5\r', '\n'])).toBe('1.5\r\n|')
    expect(heard('\r\n', ['\r', '1.5\n'])).toBe('\r1.5\n\r\n|')
  })

  it('knows it however the message is cut', () => {
    const cut = fc.array(fc.nat(12), { maxLength: 4 })
    fc.assert(
      fc.property(
        fc.constantFrom('\n', '\r\n', ';;\n'),
        fc.constantFrom('', '1.5', ';;', '\r', '\n'),
        fc.boolean(),
        cut,
        (terminator, text, isSent, cuts) => {
          const whole = isSent ? text + terminator : text
          const places = [
            0,
            ...cuts.map((each) => Math.min(each, whole.length)).sort((a, b) => a - b),
            whole.length,
          ]
          const parts = places.slice(1).map((to, i) => whole.slice(places[i], to))
          const expected = whole.endsWith(terminator) ? whole : whole + terminator
          expect(heard(terminator, parts)).toBe(`${expected}|`)
        },
      ),
    )
  })

  it('remembers nothing of the message before', () => {
    let text = ''
    const end = new MessageEnd('\n', {
      data: (chunk) => {
        text += Buffer.from(chunk).toString('latin1')
      },
    })
    end.data(Buffer.from('1\n'))
    end.end()
    end.end()
    expect(text).toBe('1\n\n')
  })
})

describe('takeAddress', () => {
  it('gives an address to one owner at a time, and back once', () => {
    const giveBack = takeAddress('line 1', 'bridge')
    expect(isTaken('line 1')).toBe(true)
    expect(() => takeAddress('line 1', 'meter')).toThrow(/bridge/)
    const other = takeAddress('line 2', 'meter')
    giveBack()
    expect(isTaken('line 1')).toBe(false)
    expect(isTaken('line 2')).toBe(true)
    const again = takeAddress('line 1', 'scanner')
    // Given back a second time it is not taken from who has it now.
    giveBack()
    expect(isTaken('line 1')).toBe(true)
    again()
    other()
    expect(isTaken('line 2')).toBe(false)
  })
})

describe('traffic', () => {
  it('shows every byte that is not plain by its number', () => {
    expect(escapeBytes('R 1.5 ~')).toBe('R 1.5 ~')
    expect(escapeBytes('\0\t\r\n\x1f\x7f\x80\xff')).toBe('\\x00\\x09\\x0D\\x0A\\x1F\\x7F\\x80\\xFF')
    expect(escapeBytes('a\\b')).toBe('a\\x5Cb')
    for (let code = 0; code < 256; code++) {
      const character = String.fromCharCode(code)
      const isPlain = code >= 0x20 && code <= 0x7e && character !== '\\'
      for (const text of [character, `\n${character}`])
        expect(escapeBytes(text).endsWith(character)).toBe(isPlain)
    }
  })

  it('is told to all who listen, and to nobody afterwards', () => {
    const traffic = new Traffic()
    const at = { utcUs: 1, monoUs: 2 }
    const told: string[] = []
    expect(traffic.heard).toBe(false)
    traffic.tell('sent', 'before\n', at)
    const one = traffic.listen(({ direction, text }) => told.push(`1 ${direction} ${text}`))
    const two = traffic.listen((line) => told.push(`2 ${line.text} ${line.at.monoUs}`))
    traffic.tell('sent', 'R?\n', at)
    traffic.tell('note', 'a line\nof words', at)
    expect(told).toEqual(['1 sent R?\\x0A', '2 R?\\x0A 2', '1 note a line\nof words', '2 a line\nof words 2'])
    one.dispose()
    expect(traffic.heard).toBe(true)
    two.dispose()
    expect(traffic.heard).toBe(false)
    traffic.tell('sent', 'after', at)
    expect(told).toHaveLength(4)
  })
})

describe('Haste', () => {
  it('allows half of the stated work, and half of what comes five times in a row', () => {
    const haste = new Haste()
    expect(haste.soonest).toBe(0.5)
    for (const part of [0.1, 0.4, 0.2, 0.3]) expect(haste.tooSoon(part)).toBe(false)
    expect(haste.tooSoon(0.2)).toBe(true)
    // Half of 0.4, the slowest of the five, of what was allowed.
    expect(haste.soonest).toBeCloseTo(0.5 * 0.4 * 0.5, 12)
    for (const part of [0.1, 0.1, 0.1, 0.1]) expect(haste.tooSoon(part)).toBe(false)
    expect(haste.tooSoon(0.1)).toBe(true)
    expect(haste.soonest).toBeCloseTo(0.1 * 0.1 * 0.5, 12)
  })

  it('counts anew after an answer in time, and never where the far end does no work', () => {
    const haste = new Haste()
    for (let i = 0; i < 20; i++) {
      expect(haste.tooSoon(0.4)).toBe(false)
      if (i % 4 === 3) haste.onTime()
    }
    expect(haste.soonest).toBe(0.5)
    expect(new Haste(true).soonest).toBe(0)
  })
})
