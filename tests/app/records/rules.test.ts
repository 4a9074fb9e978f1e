import { describe, expect, it } from 'vitest'
import type { LinkSpec } from '../../../app/records/bench.ts'
import { CertificatePattern, certificateNumber, seriesOf } from '../../../app/records/certificate-series.ts'
import { linkWords, resourceOf, usbIds } from '../../../app/records/link-words.ts'
import { isExcluded, MARK_NAMES, MARKS, markBits, withMarks } from '../../../app/records/mark.ts'
import { isAsked } from '../../../app/records/order.ts'
import { outOfUseWords } from '../../../app/records/out-of-use.ts'
import { mayDo } from '../../../app/records/person.ts'
import { exchangedPlaces, numberOfPlace, ownPlaces } from '../../../app/records/places.ts'
import { inForce } from '../../../app/records/register.ts'
import { isSameThermometer } from '../../../app/records/same-thermometer.ts'
import { type SessionSetup, wishFor, wishing } from '../../../app/records/session.ts'

describe('inForce', () => {
  it('is the newest that is not after the day, and of one day the one entered last', () => {
    const list = [
      { date: '2025-06-01', n: 1 },
      { date: '2024-01-01', n: 2 },
      { date: '2026-01-01', n: 3 },
    ]
    expect(inForce(list, '2025-12-31')!.n).toBe(1)
    expect(inForce(list, '2026-01-01')!.n).toBe(3)
    expect(inForce(list, '2025-05-31')!.n).toBe(2)
    expect(inForce(list, '2023-12-31')).toBeUndefined()
    expect(inForce([...list, { date: '2026-01-01', n: 4 }], '2026-02-01')!.n).toBe(4)
  })
})

describe('marks', () => {
  it('leave a reading out where one of them does', () => {
    expect(isExcluded([])).toBe(false)
    expect(isExcluded(['gap-before', 'stuck'])).toBe(false)
    expect(isExcluded(['gap-before', 'spike-suspected'])).toBe(true)
    // What is doubtful of the quantity itself is left out; what only came with it is told and counts.
    const counted = MARK_NAMES.filter((mark) => !MARKS[mark].excludes)
    expect(counted.sort()).toEqual([
      ...['calibration-overdue', 'clock-stepped', 'gap-before', 'imported', 'outside-range'],
      ...['power-cycled', 'stuck', 'two-answers'],
    ])
  })

  it('are kept as bits, each its own, whatever their order', () => {
    expect(markBits([])).toBe(0)
    expect(markBits(['late'])).toBe(1)
    expect(markBits(['silent'])).toBe(2)
    expect(markBits(['silent', 'late', 'silent'])).toBe(3)
    expect(markBits(MARK_NAMES)).toBe(2 ** MARK_NAMES.length - 1)
    expect(withMarks(['late', 'stuck'], ['stuck', 'silent'])).toEqual(['late', 'stuck', 'silent'])
  })
})

describe('places of an exchange', () => {
  it('are changed in a ring, and after the next exchange everybody is back', () => {
    const home = ownPlaces(['s', 'x', 'y'])
    expect(home.map(({ place }) => numberOfPlace(place))).toEqual([1, 2, 3])
    const away = exchangedPlaces(home)
    expect(away.map(({ channel, place }) => [channel, numberOfPlace(place)])).toEqual([
      ['s', 2],
      ['x', 3],
      ['y', 1],
    ])
    expect(exchangedPlaces(away)).toEqual(home)
  })
})

describe('numbers of certificates', () => {
  it('count within the year where the pattern names it, with as many digits as it asks for', () => {
    expect(certificateNumber('QTL-{year}-{number:4}', 2026, 7)).toBe('QTL-2026-0007')
    expect(certificateNumber('QTL-{year}-{number:4}', 2026, 12_345)).toBe('QTL-2026-12345')
    expect(certificateNumber('{year}/{number}/{year}', 2026, 7)).toBe('2026/7/2026')
    expect(seriesOf('QTL-{year}-{number:4}', 2026)).toBe('QTL-2026-{number}')
    expect(seriesOf('QTL-{number}', 2026)).toBe('QTL-{number}')
  })

  it('come of a pattern with one number in it', () => {
    for (const right of ['{number}', 'QTL-{year}-{number:4}', 'Prüf {number}/{year}'])
      expect(CertificatePattern.safeParse(right).success, right).toBe(true)
    for (const wrong of [
      'QTL-{year}',
      '{number}-{number}',
      'QTL-<{number}>',
      'QTL',
      `${'Q'.repeat(60)}{number}`,
    ])
      expect(CertificatePattern.safeParse(wrong).success, wrong).toBe(false)
  })
})

describe('what was asked for', () => {
  const range = { lowC: 0, highC: 100, points: [] as number[] }

  it('is any setpoint within the range, half a kelvin about its ends', () => {
    for (const t of [-0.5, 0, 50, 100, 100.5]) expect(isAsked(range, t), `${t}`).toBe(true)
    for (const t of [-0.51, 100.51]) expect(isAsked(range, t), `${t}`).toBe(false)
  })

  it('is one of the temperatures where they are named, and nothing between them', () => {
    const named = { ...range, points: [10, 60] }
    for (const t of [9.5, 10.5, 60]) expect(isAsked(named, t), `${t}`).toBe(true)
    for (const t of [9.4, 10.6, 35, 100]) expect(isAsked(named, t), `${t}`).toBe(false)
  })

  const wish = { language: 'en' } as never
  const setup = (more: object) => more as unknown as SessionSetup

  it('is wished of one thermometer and leaves the others’ wishes', () => {
    const items = setup({
      items: [
        { thermometer: 'a', wish: 1 },
        { thermometer: 'b', wish: 2 },
      ],
      job: null,
    })
    const changed = wishing(items, 'b', wish)
    expect(wishFor(changed, 'b')).toBe(wish)
    expect(wishFor(changed, 'a')).toBe(1)
    const job = wishing(setup({ job: { wishes: { a: 1 } } }), 'b', wish)
    expect([wishFor(job, 'a'), wishFor(job, 'b'), wishFor(job, 'c')]).toEqual([1, wish, undefined])
    const neither = setup({ job: null })
    expect(wishing(neither, 'b', wish)).toBe(neither)
    expect(wishFor(neither, 'b')).toBeUndefined()
  })
})

describe('who and what is meant', () => {
  it('is the same thermometer by serial number and owner, one without a stated owner too', () => {
    const known = { serial: '17', owner: 'Dairy' }
    expect(isSameThermometer(known, '17', 'Dairy')).toBe(true)
    expect(isSameThermometer(known, '17', 'Mill')).toBe(false)
    expect(isSameThermometer(known, '18', 'Dairy')).toBe(false)
    expect(isSameThermometer({ serial: '17', owner: '' }, '17', 'Mill')).toBe(true)
    expect(isSameThermometer({ serial: '', owner: '' }, '', '')).toBe(false)
  })

  it('is a person who has the right and still works here', () => {
    expect(mayDo({ rights: ['operate'] }, 'operate')).toBe(true)
    expect(mayDo({ rights: ['operate'] }, 'authorise')).toBe(false)
    expect(mayDo({ rights: ['operate'], closed: '2026-01-01' }, 'operate')).toBe(false)
    expect(mayDo(undefined, 'operate')).toBe(false)
  })

  it('is out of use with one full stop', () => {
    const of = (why: string) => outOfUseWords('SPRT-1', { since: '2026-03-01', why })
    expect(of('sent away')).toBe('SPRT-1 is out of use since 2026-03-01: sent away.')
    expect(of('sent away. ')).toBe(of('sent away'))
  })
})

describe('an instrument’s address', () => {
  const usb = { kind: 'usbtmc', vendor: 0x1209, product: 1 } as const
  it.each([
    [{ kind: 'tcp', host: 'a', port: 5025 }, 'a:5025', 'TCPIP::a::5025::SOCKET'],
    [{ kind: 'serial', path: '/dev/ttyS0' }, '/dev/ttyS0', 'ASRL/dev/ttyS0::INSTR'],
    [
      { kind: 'hislip', host: 'a', port: 4880, device: 'hislip0' },
      'a:4880 hislip0',
      'TCPIP::a::hislip0::INSTR',
    ],
    // IVI-6.1 (HiSLIP): 4880 is its own port; another one is written after the device.
    [
      { kind: 'hislip', host: 'a', port: 4881, device: 'hislip0' },
      'a:4881 hislip0',
      'TCPIP::a::hislip0,4881::INSTR',
    ],
    [{ kind: 'vxi-11', host: 'a', device: 'inst0' }, 'a inst0', 'TCPIP::a::inst0::INSTR'],
    [
      { kind: 'vxi-11', host: 'a', device: 'inst0', portmapper: 1111 },
      'a:1111 inst0',
      'TCPIP::a::inst0::INSTR',
    ],
    [usb, 'USB 1209:0001', 'USB::0x1209::0x0001::::INSTR'],
    [{ ...usb, vendor: 0xabc, serial: 'S1' }, 'USB 0abc:0001 S1', 'USB::0x0ABC::0x0001::S1::INSTR'],
    [{ ...usb, sharedBy: { host: 'b', port: 3240 } }, 'USB 1209:0001 at b:3240', undefined],
    [{ kind: 'visa', resource: 'GPIB0::9::INSTR' }, 'GPIB0::9::INSTR', 'GPIB0::9::INSTR'],
    [{ kind: 'modbus-tcp', host: 'a', port: 502, unit: 3 }, 'a:502 unit 3', undefined],
    [{ kind: 'modbus-rtu', path: '/dev/ttyS1', unit: 3 }, '/dev/ttyS1 unit 3', undefined],
  ] as const)('of %j is read by people and by other clients', (link, words, resource) => {
    expect(linkWords(link as unknown as LinkSpec)).toBe(words)
    expect(resourceOf(link as unknown as LinkSpec)).toBe(resource)
  })

  it('of a USB device has four hexadecimal digits for each number', () => {
    expect(usbIds({ vendor: 0xffff, product: 0 })).toBe('ffff:0000')
  })
})
