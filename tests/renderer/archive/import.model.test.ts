import { describe, expect, it } from 'vitest'
import { TableLook } from '../../../app/contract/tables.ts'
import { draftOf, localOffset, meaningOf } from '../../../renderer/archive/import.model.ts'

const look = TableLook.parse({
  columns: ['t / s', 'Ratio', 'Bath'],
  rows: [['0', '1.04', '25']],
  delimiter: ',',
  decimalSign: '.',
  own: false,
  time: { column: 't / s', form: 's', zoned: true },
  numbers: [
    { column: 'Ratio', unit: 'ratio' },
    { column: 'Bath', unit: 'degC' },
  ],
})
const draft = draftOf(look, 'march.night.csv', '+01:00')

describe('draftOf', () => {
  it('proposes a name and a role for each column', () => {
    expect(draft.name).toBe('march.night')
    expect(draft.columns.map(({ name, role }) => [name, role])).toEqual([
      ['Ratio', 'reference'],
      ['Bath', 'monitor'],
    ])
  })
})

describe('meaningOf', () => {
  it('counts from a moment typed in the zone that was typed', () => {
    const typed = { ...draft, start: '2026-03-01 18:00', offset: '-05:30' }
    expect(meaningOf(typed, look)).toMatchObject({
      meaning: {
        time: {
          column: 't / s',
          form: 's',
          offsetMin: -330,
          startUtcUs: Date.UTC(2026, 2, 1, 23, 30) * 1000,
        },
        channels: [{ column: 'Ratio' }, { column: 'Bath' }],
      },
    })
  })

  it.each([
    [{ timeColumn: null }, 'which column holds the time'],
    [{ offset: 'GMT' }, 'A zone is typed as'],
    [{ start: 'in spring' }, 'The moment from which'],
    [{ columns: draft.columns.map((c) => ({ ...c, use: false })) }, 'Tick at least one'],
    [{ columns: draft.columns.map((c) => ({ ...c, name: ' ' })) }, 'a name'],
  ])('says what is missing of %j', (change, words) => {
    const said = meaningOf({ ...draft, ...change }, look)
    expect('missing' in said && said.missing).toContain(words)
  })

  it('needs nothing for a table that this program exported', () => {
    expect(meaningOf({ ...draft, timeColumn: null, columns: [] }, { ...look, own: true })).toMatchObject({
      meaning: { time: null, channels: [] },
    })
  })
})

describe('localOffset', () => {
  it('agrees with the offset of the computer', () => {
    const date = new Date('2026-03-01T18:00:00Z')
    const [, sign, hours, minutes] = /^([+-])(\d\d):(\d\d)$/.exec(localOffset(date))!
    const east = (sign === '-' ? -1 : 1) * (Number(hours) * 60 + Number(minutes))
    expect(east).toBe(-date.getTimezoneOffset() + 0)
  })
})
