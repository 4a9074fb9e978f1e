import { readdirSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { TableMeaning } from '../../app/contract/tables.ts'
import { importTable } from '../../main/host/import-table.ts'
import type { HostedStation } from '../../main/host/open-station.ts'
import type { Services } from '../../main/host/services.ts'
import { type EmptyHost, openEmptyHost } from './empty-host.ts'

let folder: string
let hosted: HostedStation
let services: Services
let host: EmptyHost

beforeAll(async () => {
  host = await openEmptyHost()
  ;({ folder, hosted, services } = host)
})
afterAll(async () => {
  await host.close()
})

const meaning = TableMeaning.parse({
  delimiter: ';',
  decimalSign: ',',
  time: { column: 'Time', form: 'iso', offsetMin: 60, startUtcUs: null },
  channels: [
    { column: 'n 1', name: 'Standard', unit: 'ratio', role: 'reference' },
    { column: 'Bath', name: 'Standard', unit: 'degC', role: 'monitor' },
  ],
})
const wanted = (text: string) => ({
  bytes: new TextEncoder().encode(text),
  file: 'Night of March.csv',
  name: 'The night of March',
  operator: 'A. Person',
  meaning,
})

describe('importTable', () => {
  it('makes a session that is listed, keeps each cell as it is written, and takes a free id', async () => {
    const text = 'Time;n 1;Bath\n2026-03-01 19:00:00;1,0451230;24,99\n2026-03-01 19:00:01;---;\n'
    const first = await importTable(services, wanted(text))
    expect(first).toEqual({
      session: 'imported-Night-of-March',
      words: '3 readings imported, 1 of them without a number; 1 empty cell left out.',
    })
    const file = services.sessions.read(first.session)
    expect(file.info).toMatchObject({
      name: 'The night of March',
      startedUtcUs: Date.UTC(2026, 2, 1, 18) * 1000,
    })
    expect(file.since(0, 10).map(({ channel, raw, value }) => [channel, raw, value])).toEqual([
      ['standard', '1,0451230', '1.0451230'],
      ['standard-2', '24,99', '24.99'],
      ['standard', '---', null],
    ])
    const second = await importTable(services, wanted(text))
    expect(second.session).toBe('imported-Night-of-March-2')
    expect(hosted.store.sessions('March', 10)).toHaveLength(2)
  })

  it('says line and column where a time cannot be read, and leaves nothing behind', async () => {
    const before = readdirSync(join(folder, 'sessions'))
    await expect(importTable(services, wanted('Time;n 1;Bath\n1 March;1,04;24\n'))).rejects.toThrow(
      'Line 2, column "Time": "1 March" is not a time',
    )
    expect(readdirSync(join(folder, 'sessions'))).toEqual(before)
  })
})
