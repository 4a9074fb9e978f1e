import { createRequire } from 'node:module'
import path from 'node:path'
import pdfmake, { type Content, type CustomTableLayout } from 'pdfmake'
import type { Block, Cell } from '../../../app/report/blocks.ts'
import type { ReportContent } from '../../../app/report/content-types.ts'
import { runningTitle } from '../../../app/report/html.ts'
import { cellText } from '../../../app/report/numbers.ts'
import { drawPlot } from '../../../app/report/plots/draw.ts'
import { PRINT_THEME } from '../../../app/report/plots/plot.ts'
import { printed } from '../../../app/report/rounding.ts'

type TDocumentDefinitions = Parameters<typeof pdfmake.createPdf>[0]

export type Paper = 'A4' | 'Letter'

const require = createRequire(import.meta.url)
const fontFolder = path.join(path.dirname(require.resolve('pdfmake/package.json')), 'fonts', 'Roboto')

/** Roboto comes with the library: Greek letters, superscripts, figures of one width. */
const FONTS = {
  Roboto: {
    normal: path.join(fontFolder, 'Roboto-Regular.ttf'),
    bold: path.join(fontFolder, 'Roboto-Medium.ttf'),
    italics: path.join(fontFolder, 'Roboto-Italic.ttf'),
    bolditalics: path.join(fontFolder, 'Roboto-MediumItalic.ttf'),
  },
}

const SOFT = '#57636b'
const RULE = '#b9c2c7'
const GRID = '#d5dbde'
const MARGIN_PT = 48
const PAGE_WIDTH_PT = { A4: 595.28, Letter: 612 } as const

/** Thin rules under the head and the rows, none between columns. */
const TABLE_LAYOUT: CustomTableLayout = {
  hLineWidth: (i, node) => (i === 0 ? 0 : i === 1 || i === (node.table.body?.length ?? 0) ? 0.7 : 0.4),
  vLineWidth: () => 0,
  hLineColor: (i) => (i === 1 ? RULE : GRID),
  paddingLeft: (i) => (i === 0 ? 0 : 6),
  paddingRight: () => 6,
  paddingTop: () => 2.2,
  paddingBottom: () => 2.2,
}

/** Text longer than this wraps. */
const SENTENCE = 40
/** A table of up to this many rows is not cut by the end of a page. */
const WHOLE_ROWS = 14

const NUMBER = /^-?\d+(\.\d+)?$/

function words(cell: Cell, report: ReportContent): string {
  const text = cellText(cell, report.numbers)
  return typeof cell === 'string' && !NUMBER.test(text) ? text : printed(text, report.decimalSign)
}

function tableContent(block: Extract<Block, { kind: 'table' }>, report: ReportContent): Content {
  const { columns, rows, caption, note } = block
  const alignment = (i: number) => (columns[i]?.align === 'left' ? ('left' as const) : ('right' as const))
  const head = columns.map(({ head: name, unit }, i) => ({
    text: unit ? `${name}\n${unit}` : name,
    color: SOFT,
    alignment: alignment(i),
  }))
  const body = rows.map((row) =>
    row.map((cell, i) => ({ text: words(cell, report), alignment: alignment(i) })),
  )
  // A column of sentences takes what is left of the page; a table of numbers keeps its natural width.
  const longest = columns.map(({ align }, i) =>
    align === 'left' ? Math.max(...rows.map((row) => words(row[i] ?? '', report).length), 0) : 0,
  )
  const most = Math.max(...longest)
  const star = most > SENTENCE ? longest.indexOf(most) : -1
  const table: Content = {
    table: {
      headerRows: 1,
      dontBreakRows: true,
      keepWithHeaderRows: 1,
      widths: columns.map((_, i) => (i === star ? '*' : 'auto')),
      body: [head, ...body],
    },
    layout: TABLE_LAYOUT,
    fontSize: 8,
  }
  const parts: Content[] = [{ text: caption, style: 'caption' }, table]
  if (note) parts.push({ text: note, style: 'small', margin: [0, 3, 0, 0] })
  // A table that fits on a page is not cut; longer ones repeat their head.
  return { stack: parts, margin: [0, 8, 0, 8], unbreakable: rows.length <= WHOLE_ROWS }
}

function blockContent(block: Block, report: ReportContent, width: number): Content {
  switch (block.kind) {
    case 'heading':
      return {
        text: block.text,
        style: block.level === 1 ? 'title' : 'heading',
        headlineLevel: block.level,
        ...(block.breakBefore && { pageBreak: 'before' as const }),
      }
    case 'text':
      if (block.style === 'statement' || block.style === 'caution') {
        return {
          table: { widths: ['*'], body: [[{ text: block.text, bold: block.style === 'statement' }]] },
          layout: {
            hLineWidth: () => (block.style === 'caution' ? 0.6 : 0),
            vLineWidth: (i) => (block.style === 'caution' ? 0.6 : i === 0 ? 2 : 0),
            hLineColor: () => RULE,
            vLineColor: () => (block.style === 'caution' ? RULE : '#1f5f8b'),
            fillColor: () => (block.style === 'statement' ? '#f4f2ec' : null),
            paddingLeft: () => 8,
            paddingRight: () => 8,
            paddingTop: () => 5,
            paddingBottom: () => 5,
          },
          margin: [0, 6, 0, 6],
          unbreakable: true,
        }
      }
      return { text: block.text, style: block.style === 'small' ? 'small' : 'plain' }
    case 'facts':
      return {
        table: {
          widths: [118, '*'],
          body: block.rows.map(({ label, cells }) => {
            const separator = cells.every((c) => typeof c === 'string') ? '\n' : ' '
            return [
              { text: label, color: SOFT },
              { text: cells.map((c) => words(c, report)).join(separator) },
            ]
          }),
        },
        layout: { ...TABLE_LAYOUT, hLineWidth: () => 0, paddingTop: () => 1.2, paddingBottom: () => 1.2 },
        margin: [0, 4, 0, 6],
      }
    case 'table':
      return tableContent(block, report)
    case 'list':
      return { ul: [...block.items], margin: [0, 2, 0, 6] }
    case 'figure':
      return {
        stack: [
          { svg: drawPlot(block.plot, PRINT_THEME), width: Math.min(width, 440) },
          { text: block.caption, style: 'small', margin: [0, 2, 0, 0] },
        ],
        margin: [0, 8, 0, 8],
        unbreakable: true,
      }
  }
}

function definition(report: ReportContent, paper: Paper): TDocumentDefinitions {
  const running = runningTitle(report)
  const width = PAGE_WIDTH_PT[paper] - 2 * MARGIN_PT
  const logo = report.laboratory.logo
  const picture: Content[] =
    logo && /^data:image\/(png|jpeg);base64,/.test(logo)
      ? [{ image: logo, fit: [160, 50], margin: [0, 0, 0, 8] }]
      : []
  return {
    pageSize: paper === 'A4' ? 'A4' : 'LETTER',
    pageMargins: [MARGIN_PT, 58, MARGIN_PT, 54],
    info: {
      title: running,
      author: report.laboratory.name,
      subject: report.session,
      creator: `${report.program.name} ${report.program.version}`,
    },
    language: 'en',
    header: { text: running, fontSize: 7.5, color: SOFT, margin: [MARGIN_PT, 28, MARGIN_PT, 0] },
    footer: (page, pages) => ({
      columns: [
        {
          text:
            report.status === 'draft'
              ? 'Draft, not authorised'
              : `Authorised by ${report.authorisedBy ?? ''}`,
          alignment: 'left',
        },
        { text: `Page ${page} of ${pages}`, alignment: 'right' },
      ],
      fontSize: 7.5,
      color: SOFT,
      margin: [MARGIN_PT, 20, MARGIN_PT, 0],
    }),
    // A heading does not stand alone at the foot of a page.
    pageBreakBefore: (node, nodes) =>
      node.headlineLevel === 2 && nodes.getFollowingNodesOnPage().length === 0,
    content: [...picture, ...report.blocks.map((block) => blockContent(block, report, width))],
    defaultStyle: { font: 'Roboto', fontSize: 9.2, lineHeight: 1.18, color: '#1c2226' },
    styles: {
      title: { fontSize: 21, bold: true, margin: [0, 0, 0, 10] },
      heading: { fontSize: 12.5, bold: true, margin: [0, 12, 0, 4] },
      caption: { fontSize: 9.2, bold: true, margin: [0, 0, 0, 3] },
      plain: { margin: [0, 2, 0, 4] },
      small: { fontSize: 7.8, color: SOFT },
    },
  }
}

/** The report as a PDF, made without a window or a browser. */
export async function reportPdf(report: ReportContent, paper: Paper = 'A4'): Promise<Uint8Array> {
  pdfmake.setFonts(FONTS)
  // Nothing is fetched, and no file but the fonts is read, whatever a report says.
  pdfmake.setUrlAccessPolicy(() => false)
  pdfmake.setLocalAccessPolicy((file) => path.resolve(file).startsWith(fontFolder + path.sep))
  const buffer = await pdfmake.createPdf(definition(report, paper)).getBuffer()
  return new Uint8Array(buffer)
}
