import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { CertificatePattern, certificateNumber } from '../../app/records/certificate-series.ts'
import { openStationStore, type StationStore } from '../../main/store/station-store.ts'

let folder: string
let store: StationStore
const US = 1e6
let nowUs = Date.parse('2026-12-30T12:00:00Z') * 1000

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'certificates-'))
  store = openStationStore(folder, { clock: { now: () => ({ utcUs: nowUs, monoUs: 0 }) } })
})
afterEach(() => {
  store.close()
  rmSync(folder, { recursive: true })
})

describe('giveCertificateNumbers', () => {
  it('gives the next numbers of the series without a gap, and the same ones when asked again', () => {
    expect(store.giveCertificateNumbers('s1', ['a', 'b'], 'C. Hale')).toEqual({
      a: '2026-0001',
      b: '2026-0002',
    })
    expect(store.giveCertificateNumbers('s2', ['a'], 'C. Hale')).toEqual({ a: '2026-0003' })
    // A sign-off that was cut short takes up its numbers; an item added since gets the next one.
    expect(store.giveCertificateNumbers('s1', ['a', 'b', 'c'], 'C. Hale')).toEqual({
      a: '2026-0001',
      b: '2026-0002',
      c: '2026-0004',
    })
    expect(store.certificates().map(({ number }) => number)).toEqual([1, 2, 3, 4].map((n) => `2026-000${n}`))
    const entries = store.ledger().filter(({ what }) => what === 'certificate numbers given')
    expect(entries).toHaveLength(3)
  })

  it('begins a series anew with the year where the pattern has it', () => {
    store.giveCertificateNumbers('s1', ['a'], 'C. Hale')
    nowUs += 5 * 86_400 * US
    expect(store.giveCertificateNumbers('s2', ['a'], 'C. Hale')).toEqual({ a: '2027-0001' })
  })
})

describe('waitForStamp', () => {
  it('queues a file once, until its stamp arrives', () => {
    store.waitForStamp('s1', 'a.pdf')
    store.waitForStamp('s1', 'a.pdf')
    expect(store.waitingStamps()).toEqual([{ session: 's1', file: 'a.pdf' }])
    store.stampArrived('s1', 'a.pdf')
    expect(store.waitingStamps()).toEqual([])
  })
})

describe('CertificatePattern', () => {
  it('takes a text with one number in it, and says so where there is none', () => {
    expect(CertificatePattern.safeParse('QTL-{year}-{number:4}').success).toBe(true)
    expect(certificateNumber('QTL/{number}', 2026, 7)).toBe('QTL/7')
    for (const wrong of ['QTL-{year}', '{number}{number}', 'a;{number}', '{number:4} <b>'])
      expect(CertificatePattern.safeParse(wrong).success, wrong).toBe(false)
    expect(CertificatePattern.safeParse('QTL-{year}').error!.issues[0]!.message).toMatch(/Put \{number\}/)
  })
})
