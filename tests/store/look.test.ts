import { describe, expect, it } from 'vitest'
import { lookAtTable } from '../../main/store/import/look.ts'

describe('lookAtTable', () => {
  it('reads a plain table with times that carry their zone', () => {
    expect(
      lookAtTable(
        'Time,Ratio A,Bath / degC,Note\n2026-01-05T10:00:00Z,1.0451,24.99,fine\n2026-01-05T10:00:01Z,1.0452,24.98,\n',
      ),
    ).toEqual({
      columns: ['Time', 'Ratio A', 'Bath / degC', 'Note'],
      rows: [
        ['2026-01-05T10:00:00Z', '1.0451', '24.99', 'fine'],
        ['2026-01-05T10:00:01Z', '1.0452', '24.98', ''],
      ],
      delimiter: ',',
      decimalSign: '.',
      own: false,
      time: { column: 'Time', form: 'iso', zoned: true },
      numbers: [
        { column: 'Ratio A', unit: 'ratio' },
        { column: 'Bath / degC', unit: 'degC' },
      ],
    })
  })

  it('finds semicolons, decimal commas and times without a zone', () => {
    const look = lookAtTable(
      '\uFEFFZeit;R / Ω\r\n2026-01-05 10:00:00,5;25,0012\r\n2026-01-05 10:00:01,5;25,0013\r\n',
    )
    expect(look).toMatchObject({
      delimiter: ';',
      decimalSign: ',',
      time: { column: 'Zeit', form: 'iso', zoned: false },
      numbers: [{ column: 'R / Ω', unit: 'ohm' }],
    })
  })

  it.each([
    ['t / s', 's'],
    ['elapsed ms', 'ms'],
    ['time (us)', 'us'],
  ])('takes a rising column headed "%s" for a count of %s', (heading, form) => {
    const look = lookAtTable(`${heading}\tU / mV\n0\t1.5\n10\t1.6\n20\t1.7\n`)
    expect(look).toMatchObject({ delimiter: '\t', time: { column: heading, form } })
    expect(look.numbers).toEqual([{ column: 'U / mV', unit: 'mV' }])
  })

  it('is not misled by a comma within quotes, nor by lines of remarks', () => {
    const look = lookAtTable('# recorded by hand\n"Time, UTC";"Ratio"\n"2026-01-05T10:00:00Z";"1.5"\n')
    expect(look.columns).toEqual(['Time, UTC', 'Ratio'])
    expect(look.delimiter).toBe(';')
  })

  it('knows no time where no column reads as one', () => {
    expect(lookAtTable('Step,Ratio\n3,1.5\n1,1.6\n').time).toBeNull()
  })

  it.each(['', 'only a heading,and another\n', 'no table at all\nreally not\n'])('refuses %j', (text) => {
    expect(() => lookAtTable(text)).toThrow('This is no table')
  })
})
