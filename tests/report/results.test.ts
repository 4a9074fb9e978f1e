import { execFileSync } from 'node:child_process'
import { cpSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import path from 'node:path'
import { parse } from 'csv-parse/sync'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { buildReport, StoredReport } from '../../app/report/content.ts'
import { comparePoints, compareReports, signedNumbers } from '../../app/report/proof.ts'
import { printedProse } from '../../app/report/prose.ts'
import { analyse } from '../../app/results/analysis.ts'
import { templateFor } from '../../app/results/uncertainty-template.ts'
import { seededRandom } from '../../app/statistics/random.ts'
import { prove } from '../../main/host/commands/prove.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import { BUDGET_FOLDER, readBudgetTemplates } from '../../main/study/report/budget-folder.ts'
import { CERTIFICATE_FOLDER } from '../../main/study/report/certificates.ts'
import { reportPdf } from '../../main/study/report/pdf.ts'
import { RESULT_FILES } from '../../main/study/report/print-results.ts'
import { proveSession } from '../../main/study/report/prove.ts'
import { rebuildPoint, sessionChains } from '../../main/study/report/session-content.ts'
import { type Results, writeResults } from '../../main/study/report/write-results.ts'
import { hasProgram } from '../has-program.ts'
import { simulate } from './fixture.ts'
import { fixtureSession } from './session-fixture.ts'

const QUICK = { monteCarloTrials: 20_000 }
const folder = mkdtempSync(path.join(tmpdir(), 'results-'))
const night = path.join(folder, 'night.stillpoint')
const out = path.join(folder, 'out')
let results: Results

beforeAll(async () => {
  fixtureSession(night, { seed: 6, readings: 12 }).session.close()
  const session = openSessionFile(night, { mode: 'read' })
  results = await writeResults({ session, folder: out, analysis: QUICK })
  session.close()
})
afterAll(() => rmSync(folder, { recursive: true, force: true }))

const clock = { now: () => ({ utcUs: Date.parse('2026-03-04T08:00:00Z') * 1000, monoUs: 1e12 }) }

/** A copy of the night that a test may write into. */
function copy(name: string): string {
  const target = path.join(folder, name)
  cpSync(night, target)
  return target
}

describe('writeResults', () => {
  it('writes every file of the folder and leaves nothing half written', () => {
    expect(
      readdirSync(out)
        .filter((name) => name !== CERTIFICATE_FOLDER)
        .toSorted(),
    ).toEqual(Object.values(RESULT_FILES).toSorted())
    expect(Object.keys(results.files).toSorted()).toEqual(Object.keys(RESULT_FILES).toSorted())
  })

  it('copies a session that holds all readings', () => {
    const [was, is] = [night, path.join(out, RESULT_FILES.session)].map((file) =>
      openSessionFile(file, { mode: 'read' }),
    )
    expect(is!.readingCount).toBe(was!.readingCount)
    expect(is!.head()).toBe(was!.head())
    was!.close()
    is!.close()
  })

  it('writes every reading with its digits as they were sent', () => {
    const rows = parse(readFileSync(path.join(out, RESULT_FILES.readings)), { columns: true }) as Record<
      string,
      string
    >[]
    const session = openSessionFile(night, { mode: 'read' })
    const readings = session.since(0, 1e6)
    session.close()
    expect(rows).toHaveLength(readings.length)
    expect(rows.map((r) => [r.seq, r.channel, r.raw])).toEqual(
      readings.map((r) => [String(r.seq), r.channel, r.raw]),
    )
    expect(rows[0]!.utc).toMatch(/^2026-03-01T19:00:00\.000000Z$/)
  })

  it('writes a row for each channel of each point', () => {
    const rows = parse(readFileSync(path.join(out, RESULT_FILES.points)), { columns: true }) as Record<
      string,
      string
    >[]
    expect(rows).toHaveLength(6 * 5 + 2 * 4)
    const row = rows.find((r) => r.point === 'p2' && r.channel === 'x1')!
    expect(Number(row.U_mK)).toBeCloseTo(Number(row.k) * Number(row.u_mK), 9)
    expect(Number(row.t90_reference_C)).toBeCloseTo(25, 1)
  })

  it('states the same numbers in JSON, HTML, PDF and certificate', () => {
    const stored = StoredReport.parse(JSON.parse(readFileSync(path.join(out, RESULT_FILES.json), 'utf8')))
    const entry = stored.numbers['x1.coefficient.r0']!
    expect(readFileSync(path.join(out, RESULT_FILES.html), 'utf8')).toContain(entry.value)
    const xml = readFileSync(path.join(out, CERTIFICATE_FOLDER, 'draft-77031.xml'), 'utf8')
    expect(xml).toContain(`<si:value>${entry.value}</si:value>`)
  })

  it('writes the certificate of each item, PDF and XML, for that item alone', () => {
    const items = ['0588', '3307', '77031', '77131']
    expect(readdirSync(path.join(out, CERTIFICATE_FOLDER)).toSorted()).toEqual(
      items.flatMap((serial) => [`draft-${serial}.pdf`, `draft-${serial}.xml`]),
    )
    const xml = readFileSync(path.join(out, CERTIFICATE_FOLDER, 'draft-0588.xml'), 'utf8')
    expect(xml).toContain('>0588<')
    expect(xml).not.toContain('77031')
  })

  it('shows how still the reference stood around each point', () => {
    const figure = results.report.blocks.find((b) => b.kind === 'figure' && b.plot.type === 'settling')
    expect(figure?.kind === 'figure' && figure.plot.type === 'settling' && figure.plot.panels).toHaveLength(6)
  })

  it('leaves the old files as they were where it cannot write', async () => {
    const blocked = path.join(folder, 'blocked')
    cpSync(out, blocked, { recursive: true })
    const session = openSessionFile(night, { mode: 'read' })
    const fail = () => Promise.reject(new Error('no space left'))
    await expect(
      writeResults({ session, folder: blocked, analysis: QUICK, copySession: fail }),
    ).rejects.toThrow(/no space/)
    session.close()
    expect(readdirSync(blocked).filter((f) => f.endsWith('.part'))).toEqual([])
    expect(readFileSync(path.join(blocked, RESULT_FILES.session)).length).toBeGreaterThan(1000)
  })
})

describe('reportPdf', () => {
  it('makes a PDF on A4 and Letter without a browser', async () => {
    for (const [paper, size] of [
      ['A4', '595.28 841.89'],
      ['Letter', '612 792'],
    ] as const) {
      const pdf = Buffer.from(await reportPdf(results.report, paper))
      expect(pdf.subarray(0, 5).toString()).toBe('%PDF-')
      expect(pdf.toString('latin1')).toContain(`/MediaBox [0 0 ${size}]`)
    }
  })

  it.runIf(hasProgram('pdftotext', '-v'))(
    'prints Greek letters, units, page numbers and its number on every page',
    () => {
      const text = execFileSync('pdftotext', ['-layout', path.join(out, RESULT_FILES.pdf), '-'], {
        encoding: 'utf8',
      })
      for (const words of [
        'Ω',
        '°C',
        '−',
        '× 10',
        'ν',
        '±',
        'Page 1 of',
        'End of QTL-2026-0147, version 1',
      ]) {
        expect(text, words).toContain(words)
      }
      const pages = text.split('\f').filter((page) => page.trim() !== '')
      expect(pages.every((page) => page.includes('QTL-2026-0147, version 1'))).toBe(true)
    },
  )
})

/** Words of a PDF with the right end of each, in points. */
function wordEnds(pdf: Uint8Array): { word: string; right: number; width: number }[] {
  const file = path.join(folder, 'words.pdf')
  writeFileSync(file, pdf)
  const html = execFileSync('pdftotext', ['-bbox', file, '-'], { encoding: 'utf8', maxBuffer: 1e8 })
  let width = 0
  return html.split('\n').flatMap((line) => {
    width = Number(/<page width="([\d.]+)"/.exec(line)?.[1] ?? width)
    const found = /xMax="([\d.]+)"[^>]*>(.*)<\/word>/.exec(line)
    return found ? [{ word: found[2]!, right: Number(found[1]), width }] : []
  })
}

describe('reportPdf, long names and many thermometers', () => {
  const LONG =
    'Department_of_Thermometric_Calibration_And_Unbreakable_Identifiers/2026-0123456789-ABCDEFGHIJKLMNOPQRSTUVWXYZ'

  it.runIf(hasProgram('pdftotext', '-v'))('lets no word run off the page, on either paper', async () => {
    const { input } = simulate({ seed: 2 })
    const setup = structuredClone(input.setup)
    setup.laboratory.name = `${LONG} ${LONG}`
    Object.assign(setup.job!, { customer: LONG, customerAddress: [LONG], remarks: [LONG] })
    for (const thermometer of setup.register.thermometers) {
      Object.assign(thermometer, { name: `${LONG} ${thermometer.name}`, serial: LONG, maker: LONG })
      for (const c of thermometer.calibrations) Object.assign(c, { certificate: LONG, laboratory: LONG })
    }
    const report = buildReport(analyse({ ...input, setup, options: { monteCarloTrials: 0 } }))
    for (const paper of ['A4', 'Letter'] as const) {
      const words = wordEnds(await reportPdf({ ...report, status: 'signed' }, paper))
      expect(words.length).toBeGreaterThan(1000)
      expect(words.filter(({ right, width }) => right > width - 30)).toEqual([])
    }
  })

  it.runIf(hasProgram('pdftotext', '-v'))(
    'prints every heading, caption, sentence and row there is, with remarks longer than a page too',
    async () => {
      const { input } = simulate({ seed: 2 })
      const setup = structuredClone(input.setup)
      setup.job!.remarks = [Array.from({ length: 900 }, (_, i) => `remark${i}`).join(' ')]
      const info = { ...input.info, note: Array.from({ length: 900 }, (_, i) => `note${i}`).join(' ') }
      const built = buildReport(analyse({ ...input, info, setup, options: { monteCarloTrials: 20_000 } }))
      const file = path.join(folder, 'whole.pdf')
      const bare = (text: string) => text.replace(/[\s\u200b]/g, '')
      for (const paper of ['A4', 'Letter'] as const) {
        writeFileSync(file, await reportPdf({ ...built, status: 'signed', authorisedBy: 'C. Hale' }, paper))
        const text = execFileSync('pdftotext', ['-raw', file, '-'], { encoding: 'utf8', maxBuffer: 1e8 })
        const printed = bare(text)
        const wanted = built.blocks.flatMap((block) => {
          switch (block.kind) {
            case 'heading':
            case 'text':
              return block.text.split(' ').length > 400 ? [] : [block.text]
            case 'table': {
              const firsts = block.rows.map((row) => (typeof row[0] === 'string' ? row[0] : ''))
              return [block.caption, ...(block.note ? [block.note] : []), ...firsts]
            }
            case 'figure':
              return [block.caption]
            case 'facts':
              return block.rows.map(({ label }) => label)
            default:
              return []
          }
        })
        for (const words of wanted) {
          expect(printed.includes(bare(printedProse(words, '.'))), `${paper}: ${words}`).toBe(true)
        }
        for (const last of ['remark0', 'remark450', 'remark899', 'note0', 'note899'])
          expect(printed).toContain(last)
        expect(text.split('\f').filter((page) => page.split('\n').length < 5)).toEqual([''])
      }
    },
  )

  it('marks every page of a draft, and none of a signed report', async () => {
    const draft = Buffer.from(await reportPdf(results.report))
    const signed = Buffer.from(await reportPdf({ ...results.report, status: 'signed' }))
    expect(draft.length).toBeGreaterThan(signed.length)
  })

  it('is the same file for the same report, byte for byte', async () => {
    const [a, b] = [await reportPdf(results.report), await reportPdf(results.report)]
    expect(Buffer.from(a).equals(Buffer.from(b))).toBe(true)
  })
})

describe('proveSession', () => {
  it('finds the report again from the file alone, digit by digit', async () => {
    const { lines, same } = await prove(path.join(out, RESULT_FILES.session), undefined)
    expect(same).toBe(true)
    expect(lines.join('\n')).toMatch(/8 points from their readings: the same, digit by digit/)
    expect(lines.join('\n')).toMatch(
      /Against results\.json, numbers, words and plots: the same, digit by digit/,
    )
    for (const name of [
      'readings.csv',
      'points.csv',
      'report.html',
      'report.pdf',
      'certificates/draft-77031.xml',
    ]) {
      expect(lines.join('\n')).toContain(`${name}: the same, byte for byte`)
    }
  })

  it('finds one changed digit of the stored report', async () => {
    const file = path.join(folder, 'changed.json')
    const stored = JSON.parse(readFileSync(path.join(out, RESULT_FILES.json), 'utf8'))
    stored.numbers['x3.table.50.signal'].value = '30.59'
    writeFileSync(file, JSON.stringify(stored))
    const { lines, same } = await prove(path.join(out, RESULT_FILES.session), file)
    expect(same).toBe(false)
    expect(lines.join('\n')).toMatch(/1 differ\n {2}x3\.table\.50\.signal: kept 30\.59/)
  })

  it('finds any word, number or plot of the stored report that was changed, wherever it stands', () => {
    const text = readFileSync(path.join(out, RESULT_FILES.json), 'utf8')
    const original: unknown = JSON.parse(text)
    const places: (readonly [holder: Record<string, unknown>, key: string])[] = []
    const tampered: unknown = JSON.parse(text)
    const walk = (value: unknown) => {
      if (typeof value !== 'object' || value === null) return
      for (const [key, inner] of Object.entries(value)) {
        if (typeof inner === 'object' && inner !== null) walk(inner)
        else places.push([value as Record<string, unknown>, key])
      }
    }
    walk(tampered)
    expect(places.length).toBeGreaterThan(10_000)
    const other = (value: unknown): unknown => {
      if (typeof value === 'number') return value + Math.abs(value) * 1e-15 + Number.MIN_VALUE
      if (typeof value === 'string') return `${value.slice(0, -1)}${value.endsWith('7') ? '8' : '7'}`
      return typeof value === 'boolean' ? !value : 0
    }
    expect(compareReports(tampered, original)).toEqual([])
    const random = seededRandom(17)
    for (let i = 0; i < 60; i++) {
      const [holder, key] = places[Math.floor(random.uniform() * places.length)]!
      const was = holder[key]
      const now = other(was)
      if (Object.is(was, now)) continue
      holder[key] = now
      expect(compareReports(tampered, original), `${key}: ${String(was)}`).toHaveLength(1)
      holder[key] = was
    }
    // A line that nobody computed, and one that was taken away.
    const added = { ...(tampered as object), opinion: 'fit for use' }
    expect(compareReports(added, original)).toMatchObject([{ key: 'opinion', computed: 'absent' }])
    expect(compareReports(original, added)).toMatchObject([{ key: 'opinion', stored: 'absent' }])
  })

  it('names the file beside the report in which a digit was changed', async () => {
    const forged = path.join(folder, 'forged')
    cpSync(out, forged, { recursive: true })
    for (const [file, was, now] of [
      [RESULT_FILES.html, 'Air temperature', 'Air temperaturf'],
      [RESULT_FILES.points, 'wtp-before', 'wtp-beforf'],
      ['certificates/draft-77031.xml', 'Bramblewick', 'Bramblewock'],
    ] as const) {
      const at = path.join(forged, file)
      writeFileSync(at, readFileSync(at, 'utf8').replace(was, now))
    }
    const pdf = readFileSync(path.join(forged, RESULT_FILES.pdf))
    pdf[pdf.length >> 1]! ^= 1
    writeFileSync(path.join(forged, RESULT_FILES.pdf), pdf)
    const { lines, same } = await prove(path.join(forged, RESULT_FILES.session), undefined)
    expect(same).toBe(false)
    const differing = lines.filter((line) => line.includes('differs from what the session gives'))
    expect(differing.map((line) => line.split(':')[0])).toEqual([
      RESULT_FILES.points,
      RESULT_FILES.html,
      RESULT_FILES.pdf,
      'certificates/draft-77031.xml',
    ])
    expect(lines).toContainEqual(expect.stringMatching(/^readings\.csv: the same/))
  })

  it('proves a draft that was signed since as it stood', () => {
    const file = copy('since.stillpoint')
    const since = openSessionFile(file, { mode: 'write', clock })
    const json: unknown = JSON.parse(readFileSync(path.join(out, RESULT_FILES.json), 'utf8'))
    since.signOff({ who: 'C. Hale', facts: {} })
    const proof = proveSession(since, { report: StoredReport.parse(json), json })
    expect(proof.stored!.differences).toEqual([])
    expect(proof.report.status).toBe('draft')
    expect(proveSession(since, null, QUICK).report.status).toBe('signed')
    since.close()
  })

  it('compares with what was signed, and says when a later change made another version', () => {
    const file = copy('signed.stillpoint')
    const signed = openSessionFile(file, { mode: 'write', clock })
    const { report } = proveSession(signed, null, QUICK)
    signed.signOff({ who: 'C. Hale', facts: { report: signedNumbers(report) } })
    const proof = proveSession(signed, null, QUICK)
    expect(proof.signed).toEqual({ version: 1, differences: [] })
    expect(proof.same).toBe(true)
    signed.amend({
      target: { what: 'point', point: 'p5', channel: 'x1' },
      who: 'B. Wend',
      why: 'probe was moved',
    })
    const later = proveSession(signed, null, QUICK)
    expect(later.report.version).toBe(2)
    expect(later.signed).toBeNull()
    signed.close()
  })

  it('finds a signed report that does not follow from the readings', () => {
    const file = copy('forged.stillpoint')
    const forged = openSessionFile(file, { mode: 'write', clock })
    const numbers = signedNumbers(proveSession(forged, null, QUICK).report)
    const value = ['25.600000', '0.000020', '2.00'] as [string, string, string]
    forged.signOff({
      who: 'C. Hale',
      facts: { report: { ...numbers, numbers: { ...numbers.numbers, 'x3.coefficient.rWtp': value } } },
    })
    const proof = proveSession(forged, null, QUICK)
    expect(proof.same).toBe(false)
    expect(proof.signed!.differences.map((d) => d.key)).toEqual(['x3.coefficient.rWtp'])
    forged.close()
  })

  it('makes a point again without readings that were left out since', () => {
    const file = copy('shorter.stillpoint')
    const session = openSessionFile(file, { mode: 'write', clock })
    const at = session.points()[3]!.channels.find((c) => c.channel === 'x1')!
    const seqs = session
      .readings({ channel: 'x1', fromSeq: at.firstSeq, toSeq: at.lastSeq, most: 100 })
      .map((r) => r.seq)
    session.amend({
      target: { what: 'readings', channel: 'x1', fromSeq: seqs[0]!, toSeq: seqs[2]! },
      who: 'B. Wend',
      why: 'door was open',
    })
    const proof = proveSession(session, null, QUICK)
    expect(proof.same).toBe(true)
    expect(JSON.stringify(proof.report.blocks)).toContain('door was open')
    session.close()
  })

  it('refuses the report of another session', async () => {
    const file = path.join(folder, 'other.json')
    const stored = JSON.parse(readFileSync(path.join(out, RESULT_FILES.json), 'utf8'))
    writeFileSync(file, JSON.stringify({ ...stored, session: 'another' }))
    await expect(prove(night, file)).rejects.toThrow(/is the report of session another/)
  })
})

describe('a session that cannot be compared', () => {
  it('still gives its record, and says why there is no more', async () => {
    const file = path.join(folder, 'bare.stillpoint')
    const { session } = fixtureSession(file, { seed: 1, readings: 4, setpoints: [20], cell: 'none' })
    const target = path.join(folder, 'bare')
    const setup = session.setup as { bench: { channels: { role: string }[] } }
    setup.bench.channels[0]!.role = 'monitor'
    await expect(writeResults({ session, folder: target })).rejects.toThrow(/nothing to compare with/)
    expect(readdirSync(target).toSorted()).toEqual([RESULT_FILES.readings, RESULT_FILES.session].toSorted())
    session.close()
  })

  it('gives a report that refuses in words where the points do not determine any coefficients', async () => {
    const file = path.join(folder, 'one.stillpoint')
    const { session } = fixtureSession(file, { seed: 1, readings: 4, setpoints: [20], cell: 'none' })
    const { certificates, report } = await writeResults({ session, folder: path.join(folder, 'one') })
    expect(certificates.filter((file) => file.endsWith('.xml'))).toEqual([])
    expect(certificates).toHaveLength(4)
    expect(JSON.stringify(report.blocks)).toMatch(/No coefficients are stated/)
    session.close()
  })
})

describe('readBudgetTemplates', () => {
  it("reads a laboratory's own templates, which then make the budget and stay with the report", async () => {
    const data = path.join(folder, 'data')
    mkdirSync(path.join(data, BUDGET_FOLDER), { recursive: true })
    const own = structuredClone(templateFor('prt'))
    const components = own.components.map((c) =>
      c.id === 'immersion' ? { ...c, values: [{ celsius: 0, mk: 50 }] } : c,
    )
    writeFileSync(
      path.join(data, BUDGET_FOLDER, 'ours.json'),
      JSON.stringify({ ...own, id: 'ours', title: 'Ours', components }),
    )
    const templates = readBudgetTemplates(data)
    const session = openSessionFile(night, { mode: 'read' })
    const target = path.join(folder, 'ours')
    const { report } = await writeResults({ session, folder: target, analysis: { ...QUICK, templates } })
    session.close()
    const line = 'x1.point.p3.budget.immersion'
    expect(Number(report.numbers[line]!.value)).toBeCloseTo(50 / Math.sqrt(3), 0)
    expect((await prove(path.join(target, RESULT_FILES.session), undefined)).same).toBe(true)
  })

  it('names the file that is not right, and is content with none', () => {
    const data = path.join(folder, 'bad')
    expect(readBudgetTemplates(data)).toEqual([])
    mkdirSync(path.join(data, BUDGET_FOLDER), { recursive: true })
    writeFileSync(path.join(data, BUDGET_FOLDER, 'ours.json'), '{"id":"Ours"}')
    expect(() => readBudgetTemplates(data)).toThrow(
      /budgets\/ours\.json: The budget template is not right at id/,
    )
  })
})

describe('rebuildPoint', () => {
  it('keeps what a pair of currents gave, whose readings came after the point', () => {
    const session = openSessionFile(night, { mode: 'read' })
    const stored = session.points()[2]!
    const withPair = {
      ...stored,
      channels: stored.channels.map((c) =>
        c.channel === 'x1'
          ? { ...c, selfHeatingMk: 5.8, uSelfHeatingMk: 0.2, signalZeroCurrent: c.signal! - 0.0022 }
          : c,
      ),
    }
    const rebuilt = rebuildPoint(session, sessionChains(session), withPair)!
    const own = rebuilt.channels.find((c) => c.channel === 'x1')!
    expect(own.signalZeroCurrent! - own.signal!).toBeCloseTo(-0.0022, 9)
    expect(own.selfHeatingMk).toBeCloseTo(0.0022 / 0.000388, 0)
    // The heating follows from the signals alone: a point that tells what they say is made again as it is.
    const { selfHeatingMk, uSelfHeatingMk } = own
    const told = {
      ...withPair,
      channels: withPair.channels.map((c) =>
        c.channel === 'x1' ? { ...c, selfHeatingMk, uSelfHeatingMk } : c,
      ),
    }
    expect(comparePoints(told, rebuildPoint(session, sessionChains(session), told)!)).toEqual([])
    session.close()
  })

  it('gives nothing where all readings were left out', () => {
    const session = openSessionFile(night, { mode: 'read' })
    const stored = session.points()[2]!
    const all = stored.channels.map((c) => ({ channel: c.channel, fromSeq: 1, toSeq: 1e9 }))
    expect(rebuildPoint(session, sessionChains(session), stored, all)).toBeNull()
    expect(comparePoints(stored, null)).toHaveLength(1)
    session.close()
  })
})
