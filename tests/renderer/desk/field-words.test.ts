import { describe, expect, it } from 'vitest'
import { RECORD_KINDS } from '../../../app/records/record-kinds.ts'
import { fieldWords } from '../../../renderer/desk/field-words.ts'

const label = (kind: string, field: string) => fieldWords(kind, field).label

describe('fieldWords', () => {
  it('calls a field that two benches changed as its form does, with the unit that it shows', () => {
    expect(label('thermometer', 'highC')).toBe('Never hotter than / °C')
    expect(label('thermometer', 'calibrations 2 due')).toBe('Calibration 2: Recalibration due')
    expect(label('thermometer', 'calibrations 2 conversion rWtp')).toBe('Calibration 2: R(WTP) / Ω')
    expect(label('thermometer', 'calibrations 1 conversion coefficients a')).toBe('Calibration 1: a')
    expect(label('thermometer', 'calibrations 1 uncertainty points 2 expandedMk')).toBe(
      'Calibration 1: Expanded uncertainty 2: Expanded uncertainty / mK',
    )
    expect(label('thermometer', 'wtpHistory 3 ohm')).toBe('R(0.01 °C) 3: Value / Ω')
    expect(label('thermometer', 'outOfUse since')).toBe('Out of use since')
    expect(label('resistor', 'calibrations 1 expandedRelative')).toBe(
      'Calibration 1: Relative expanded uncertainty / ppm',
    )
    expect(label('bath', 'repairs 1 what')).toBe('Repair 1: What was done')
    expect(label('customer', 'address 2')).toBe('Address, line 2')
    expect(label('customer', 'decimalSign')).toBe('Decimal sign')
    expect(label('item', 'state')).toBe('In the lists')
  })

  it('shows a value in the unit of its label, and a choice by its name', () => {
    expect(fieldWords('resistor', 'calibrations 1 expandedRelative').show('4e-7')).toBe('0.4')
    expect(fieldWords('instrument', 'role').show('ratio-bridge')).toBe('Ratio bridge')
    expect(fieldWords('thermometer', 'name').show('7')).toBe('7')
    expect(fieldWords('thermometer', 'highC').show('nothing')).toBe('nothing')
  })

  it('has a name for every field of every kind of record', () => {
    for (const [kind, { schema }] of Object.entries(RECORD_KINDS))
      for (const field of Object.keys(schema.shape))
        expect(label(kind, field), `${kind} ${field}`).toMatch(/^[A-ZR]/)
  })
})
