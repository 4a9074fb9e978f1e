import { execFileSync, spawnSync } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { parse } from 'csv-parse/sync'
import { afterAll, describe, expect, it } from 'vitest'
import { documentText } from '../../app/base/markup.ts'
import { buildReport } from '../../app/report/content.ts'
import { reportHtml } from '../../app/report/html.ts'
import { unguardCell } from '../../main/store/export/text.ts'
import { registerText } from '../../main/store/register-file.ts'
import { openDatabase } from '../../main/store/sqlite.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { reportPdf } from '../../main/study/report/pdf.ts'
import { analyseSession } from '../../main/study/report/session-content.ts'
import { fixtureSession } from './session-fixture.ts'

// What people call their things: it arrives as it was typed, in whatever is made of it.

const NAMES = {
  entities: 'A&amp;B &name; <i>x</i>',
  quotes: `He said "ohm" and 'mho' \`twice\``,
  formula: '=SUM(1;2) @home',
  marks: 'left \u202eright\u2066 in \u2069\u200fout',
  controls: 'bell\u0007 end\u0000 of',
  letters: 'Müller ΔT 25 °C µΩ',
}
const folder = mkdtempSync(join(tmpdir(), 'stillpoint-names-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))
const has = (program: string) => spawnSync(program, ['--version'], { stdio: 'ignore' }).error === undefined

const { session } = fixtureSession(
  join(folder, 'night.stillpoint'),
  { seed: 1, setpoints: [0, 50, 100], readings: 6 },
  (setup) => {
    const names = Object.values(NAMES)
    return {
      ...setup,
      laboratory: { ...setup.laboratory, name: NAMES.entities },
      register: {
        ...setup.register,
        thermometers: setup.register.thermometers.map((one, i) => ({
          ...one,
          name: names[i % names.length]!,
          maker: NAMES.letters,
        })),
      },
    }
  },
)
const report = buildReport(analyseSession(session, { monteCarloTrials: 0 }))
afterAll(() => session.close())
const printed = session.setup.register.thermometers.map(({ name }) => name)

/** Runs of white space as one space: paper and pages break lines where they like. */
const flat = (text: string) => text.replaceAll(/\s+/g, ' ')

describe('names arrive as they were typed', () => {
  it.skipIf(!has('xmllint'))('on a page, read by a parser of its own', () => {
    const file = join(folder, 'report.html')
    writeFileSync(file, reportHtml(report))
    const text = execFileSync('xmllint', ['--html', '--encode', 'utf-8', '--xpath', 'string(//body)', file], {
      encoding: 'utf8',
      maxBuffer: 1e8,
      stdio: ['ignore', 'pipe', 'ignore'],
    })
    for (const name of printed) expect(flat(text)).toContain(flat(documentText(name)))
  })

  it.skipIf(!has('pdftotext'))('on paper, with nothing taken for markup and no letter lost', async () => {
    const file = join(folder, 'report.pdf')
    writeFileSync(file, await reportPdf(report))
    const text = flat(execFileSync('pdftotext', ['-raw', file, '-'], { encoding: 'utf8', maxBuffer: 1e8 }))
    // Marks that say how to read and controls have no glyph; the letters beside them all stand there, in their order.
    const seen = (words: string) => words.replaceAll(/[^\p{L}\p{N}\p{P}\p{S}]/gu, '')
    for (const name of printed) expect(seen(text)).toContain(seen(name.replaceAll('\ufffd', '')))
  })

  it('in a table of the register, read by a parser of its own, with no formula to run', () => {
    const store = openStationStore(join(folder, 'station'), {
      clock: { now: () => ({ utcUs: 0, monoUs: 0 }) },
    })
    const [first] = session.setup.register.thermometers
    for (const [id, name] of Object.entries(NAMES))
      store.saveThermometer({ ...first!, id, name, wtpHistory: [], calibrations: [] }, 'A. Person', name)
    const db = openDatabase(join(folder, 'station', 'station.db'), 'station', 'read')
    const rows = parse(registerText(db, 'csv', '2026-03-01'), { columns: true }) as Record<string, string>[]
    expect(Object.fromEntries(rows.map(({ id, name }) => [id, unguardCell(name!)]))).toEqual(NAMES)
    expect(rows.filter(({ name }) => /^[=+@-]/.test(name!))).toEqual([])
    db.close()
    expect(
      store
        .ledger({})
        .map(({ why }) => why)
        .toSorted(),
    ).toEqual(Object.values(NAMES).toSorted())
    store.close()
  })
})
