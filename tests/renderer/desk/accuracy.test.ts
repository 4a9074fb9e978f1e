import { describe, expect, it } from 'vitest'
import { InstrumentRecord } from '../../../app/records/register.ts'
import { accuracyText, readAccuracy } from '../../../renderer/desk/accuracy.model.ts'
import { draftOf, readEntry } from '../../../renderer/register/register.model.ts'

const TEXT = 'V 0.1 30 8 2 3; data sheet, 1 year\nohm 1000 50 10; certificate M-7'

const meter = InstrumentRecord.parse({
  id: 'm1',
  name: 'Meter',
  role: 'meter',
  laboratory: 'Quennick Temperature Laboratory',
  accuracy: [
    {
      quantity: 'V',
      range: 0.1,
      readingPpm: 30,
      rangePpm: 8,
      perKelvinPpm: 2,
      withinK: 3,
      source: 'data sheet, 1 year',
    },
    { quantity: 'ohm', range: 1000, readingPpm: 50, rangePpm: 10, source: 'certificate M-7' },
  ],
})

describe('the accuracy of a meter as lines', () => {
  it('is written and read back the same', () => {
    expect(accuracyText(meter.accuracy)).toBe(TEXT)
    expect(readAccuracy(TEXT)).toEqual({ accuracy: meter.accuracy })
  })

  it.each([
    ['0.1 30 8; sheet', /begin with V or ohm/],
    ['V 0.1 30; sheet', /three numbers, or five/],
    ['V 0.1 30 8 2; sheet', /three numbers, or five/],
    ['V 0.1 30 8', /where these figures stand/],
    ['V 0.1 -30 8; sheet', /no part of an accuracy is negative/],
    ['V 0 30 8; sheet', /range is above 0/],
  ])('is refused in words: %s', (line, words) => {
    expect((readAccuracy(line) as { problem: string }).problem).toMatch(words)
  })

  it('outlives an edit of the record, with all that the form does not show', () => {
    const draft = draftOf('instruments', meter, 'x')
    expect(readEntry('instruments', draft).entry).toEqual(meter)
    const { accuracy: _gone, ...rest } = meter
    const emptied = { ...draft, texts: { ...draft.texts, accuracy: '' } }
    expect(readEntry('instruments', emptied).entry).toEqual(rest)
    const wrong = { ...draft, texts: { ...draft.texts, accuracy: 'V 1' } }
    expect(readEntry('instruments', wrong).problems.accuracy).toMatch(/three numbers/)
  })
})
