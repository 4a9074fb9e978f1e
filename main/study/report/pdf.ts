import { createRequire } from 'node:module'
import path from 'node:path'
import pdfmake, { type Content, type CustomTableLayout } from 'pdfmake'
import type { Block } from '../../../app/report/blocks.ts'
import type { ReportContent } from '../../../app/report/content-types.ts'
import { drawPlot } from '../../../app/report/plots/draw.ts'
import { PRINT_THEME } from '../../../app/report/plots/plot.ts'
import { cellWords } from '../../../app/report/print.ts'
import { type Printable, printableReport } from '../../../app/report/printable.ts'
import { printedProse } from '../../../app/report/prose.ts'
import { breakable, fitted, heightOf, labelWidth, TABLE_PT } from './pdf-layout.ts'
import {
  addSignatureRoom,
  type BoxPlace,
  type PdfKitDocument,
  type SignatureRoom,
} from './pdf-signature-room.ts'

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

/** What stands no higher than this is not cut by the end of a page: the room of the lower of the two papers, with some to spare. */
const WHOLE_PT = 600

function tableContent(block: Extract<Block, { kind: 'table' }>, report: Printable, width: number): Content {
  const { columns, caption, note } = block
  const prose = (text: string) => breakable(printedProse(text, report.decimalSign))
  const alignment = (i: number) => (columns[i]?.align === 'left' ? ('left' as const) : ('right' as const))
  const { texts, heads, widths } = fitted(block, report, width)
  const head = heads.map(([name, unit], i) => ({
    text: unit ? `${name}\n${unit}` : name!,
    color: SOFT,
    alignment: alignment(i),
  }))
  const body = texts.map((row) => row.map((text, i) => ({ text, alignment: alignment(i) })))
  const table: Content = {
    table: {
      headerRows: 1,
      dontBreakRows: true,
      keepWithHeaderRows: 3,
      widths,
      body: [head, ...body],
    },
    layout: TABLE_LAYOUT,
    fontSize: TABLE_PT,
  }
  const noteText: Content[] = note ? [{ text: prose(note), style: 'small', margin: [0, 3, 0, 0] }] : []
  const captionText: Content[] = caption ? [{ text: prose(caption), style: 'caption' }] : []
  if (heightOf(block, report, width) <= WHOLE_PT) {
    return { stack: [...captionText, table, ...noteText], margin: [0, 8, 0, 8], unbreakable: true }
  }
  // A longer one repeats its head on every page; its caption does not stay behind.
  return {
    stack: [
      ...captionText.map((own) => ({ ...(own as object), headlineLevel: CAPTION_LEVEL }) as Content),
      table,
      ...noteText,
    ],
    margin: [0, 8, 0, 8],
  }
}

/** Marks what must not stand alone at the foot of a page. */
const CAPTION_LEVEL = 3

function blockContent(block: Block, report: Printable, width: number): Content {
  const prose = (text: string) => breakable(printedProse(text, report.decimalSign))
  switch (block.kind) {
    case 'heading':
      return {
        text: breakable(block.text),
        style: block.level === 1 ? 'title' : 'heading',
        headlineLevel: block.level,
        ...(block.breakBefore && { pageBreak: 'before' as const }),
      }
    case 'text':
      if (block.style === 'statement' || block.style === 'caution') {
        return {
          table: { widths: ['*'], body: [[{ text: prose(block.text), bold: block.style === 'statement' }]] },
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
          unbreakable: heightOf(block, report, width) <= WHOLE_PT,
        }
      }
      // A paragraph is not cut by the end of a page, unless it is longer than one.
      return {
        stack: [{ text: prose(block.text), style: block.style === 'small' ? 'small' : 'plain' }],
        unbreakable: heightOf(block, report, width) <= WHOLE_PT,
      }
    case 'signature':
      return {
        ...({ id: SIGNATURE_ID } as object),
        table: { widths: ['*'], heights: 26, body: [[{ text: prose(block.text) }]] },
        layout: { hLineColor: () => RULE, vLineColor: () => RULE, paddingTop: () => 4, paddingLeft: () => 8 },
        fontSize: 7.8,
        margin: [0, 6, 0, 6],
        unbreakable: true,
      }
    case 'side-by-side':
      return {
        columns: block.texts.map((text) => ({
          text: prose(text),
          style: block.style === 'small' ? 'small' : 'plain',
          bold: block.style === 'statement',
        })),
        columnGap: 14,
        margin: [0, 2, 0, 4],
        unbreakable: heightOf(block, report, width) <= WHOLE_PT,
      }
    case 'facts':
      return {
        table: {
          widths: [labelWidth(block.rows, width), '*'],
          body: block.rows.map(({ label, cells }) => {
            const separator = cells.every((c) => typeof c === 'string') ? '\n' : ' '
            return [
              { text: prose(label), color: SOFT },
              { text: breakable(cells.map((c) => cellWords(c, report)).join(separator)) },
            ]
          }),
        },
        layout: { ...TABLE_LAYOUT, hLineWidth: () => 0, paddingTop: () => 1.2, paddingBottom: () => 1.2 },
        margin: [0, 4, 0, 6],
      }
    case 'table':
      return tableContent(block, report, width)
    case 'list':
      return { ul: block.items.map(prose), margin: [0, 2, 0, 6] }
    case 'figure':
      return {
        stack: [
          {
            svg: drawPlot(block.plot, { ...PRINT_THEME, decimalSign: report.decimalSign }),
            width: Math.min(width, 440),
          },
          { text: prose(block.caption), style: 'small', margin: [0, 2, 0, 0] },
        ],
        margin: [0, 8, 0, 8],
        unbreakable: true,
      }
  }
}

/** Blocks in order, a heading kept with what follows it, a sentence with the list it announces. */
function contentOf(report: Printable, width: number): Content[] {
  const { blocks } = report
  const parts: Content[] = []
  for (let i = 0; i < blocks.length; i++) {
    const block = blocks[i]!
    const next = blocks[i + 1]
    const announces = block.kind === 'text' && block.text.endsWith(':') && next?.kind === 'list'
    const together = (block.kind === 'heading' && block.level === 2) || announces
    const height = next ? heightOf(block, report, width) + heightOf(next, report, width) : 0
    if (!together || !next || next.kind === 'heading' || height > WHOLE_PT) {
      const own = blockContent(block, report, width)
      // Room below what ends a page would else begin another one, which the break after it leaves empty.
      parts.push(
        next?.kind === 'heading' && next.breakBefore
          ? ({ ...(own as object), margin: [0, 8, 0, 0] } as Content)
          : own,
      )
      continue
    }
    const breakBefore = block.kind === 'heading' && block.breakBefore === true
    const first = block.kind === 'heading' ? { ...block, breakBefore: false } : block
    parts.push({
      stack: [blockContent(first, report, width), blockContent(next, report, width)],
      unbreakable: true,
      ...(breakBefore && { pageBreak: 'before' as const }),
    })
    i++
  }
  return parts
}

function definition(report: Printable, paper: Paper): TDocumentDefinitions {
  const running = breakable(report.running)
  const width = PAGE_WIDTH_PT[paper] - 2 * MARGIN_PT
  const { logo } = report
  const picture: Content[] =
    logo && /^data:image\/(png|jpeg);base64,/.test(logo)
      ? [{ image: logo, fit: [160, 50], margin: [0, 0, 0, 8] }]
      : []
  return {
    pageSize: paper === 'A4' ? 'A4' : 'LETTER',
    pageMargins: [MARGIN_PT, 58, MARGIN_PT, 54],
    info: {
      title: running,
      author: report.author,
      subject: report.subject,
      creator: report.creator,
      // Not the minute of printing: the same report gives the same file, byte for byte.
      creationDate: new Date(`${report.date}T00:00:00Z`),
    },
    language: report.language,
    header: { text: running, fontSize: 7.5, color: SOFT, margin: [MARGIN_PT, 28, MARGIN_PT, 0] },
    footer: (page, pages) => ({
      columns: [
        { text: report.footer, alignment: 'left' },
        { text: report.pageWords(page, pages), alignment: 'right' },
      ],
      fontSize: 7.5,
      color: SOFT,
      margin: [MARGIN_PT, 20, MARGIN_PT, 0],
    }),
    ...(report.status === 'draft' && {
      watermark: { text: report.draftWord, color: SOFT, opacity: 0.1, bold: true, angle: -45, fontSize: 150 },
    }),
    // A heading or a caption does not stand alone at the foot of a page.
    pageBreakBefore: (node, nodes) =>
      (node.headlineLevel === 2 || node.headlineLevel === CAPTION_LEVEL) &&
      nodes.getFollowingNodesOnPage().length === 0,
    content: [...picture, ...contentOf(report, width)],
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

/** The calibration record of a session as a PDF. */
export const reportPdf = (report: ReportContent, paper: Paper = 'A4'): Promise<Uint8Array> =>
  printPdf(printableReport(report), paper)

/** A report or certificate as a PDF, made without a window or a browser. */
export async function printPdf(
  report: Printable,
  paper: Paper = 'A4',
  signature: SignatureRoom | null = null,
): Promise<Uint8Array> {
  pdfmake.setFonts(FONTS)
  // Nothing is fetched, and no file but the fonts is read, whatever a report says.
  pdfmake.setUrlAccessPolicy(() => false)
  pdfmake.setLocalAccessPolicy((file) => path.resolve(file).startsWith(fontFolder + path.sep))
  const content = definition(report, paper)
  const made = pdfmake.createPdf(content, signature ? { bufferPages: true } : {})
  if (signature) {
    const document = (await made.getStream()) as unknown as PdfKitDocument
    addSignatureRoom(document, signature, boxOf(content, PAGE_WIDTH_PT[paper] - 2 * MARGIN_PT))
  }
  return new Uint8Array(await made.getBuffer())
}

/** Where the box of the signature came to stand. */
function boxOf({ content }: TDocumentDefinitions, width: number): BoxPlace {
  const blocks = content as (Content & { id?: string; positions?: Position[] })[]
  const at = blocks.find((block) => block.id === SIGNATURE_ID)?.positions?.[0]
  if (!at) throw new Error('The certificate has no box for its signature.')
  return { page: at.pageNumber, left: MARGIN_PT, top: at.top - 6, width, height: 34 }
}

interface Position {
  readonly pageNumber: number
  readonly top: number
}

/** By which the block that stands for the signature is found again once the pages are laid out. */
const SIGNATURE_ID = 'signature'
