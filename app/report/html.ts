import { at } from '../base/lists.ts'
import { escapeMarkup } from '../base/markup.ts'
import type { Block, Cell, Column } from './blocks.ts'
import type { ReportContent } from './content-types.ts'
import { STYLE } from './html-style.ts'
import { drawPlot } from './plots/draw.ts'
import { PAGE_THEME } from './plots/plot.ts'
import { cellWords, tableWords } from './print.ts'
import { type Printable, printableReport } from './printable.ts'
import { printedProse } from './prose.ts'

/** What the page may bring along; without it the reader's own fonts serve. */
export interface HtmlOptions {
  /** @font-face rules whose sources are data: URIs. */
  readonly fontCss?: string
}

/** Only pictures that are in the text itself: a page that asks the network for nothing. */
const LOGO = /^data:image\/(png|jpeg|svg\+xml);base64,[A-Za-z0-9+/=]+$/

const ISO_DAY = /^\d{4}-\d{2}-\d{2}$/

function cellHtml(cell: Cell, words: string): string {
  if (typeof cell === 'string')
    return ISO_DAY.test(words) ? `<span class="whole">${words}</span>` : escapeMarkup(words)
  return `<span data-key="${escapeMarkup(cell.key)}" data-show="${cell.show}">${escapeMarkup(words)}</span>`
}

const headHtml = ({ head, unit, align }: Column, prose: (text: string) => string) =>
  `<th scope="col" class="${align}">${escapeMarkup(head)}${unit ? `<span class="unit">${escapeMarkup(prose(unit))}</span>` : ''}</th>`

function blockHtml(block: Block, report: Printable): string {
  const prose = (text: string) => printedProse(text, report.decimalSign)
  const words = (text: string) => escapeMarkup(prose(text))
  switch (block.kind) {
    case 'heading': {
      const tag = block.level === 1 ? 'h1' : 'h2'
      return `<${tag}${block.breakBefore ? ' class="break"' : ''}>${escapeMarkup(block.text)}</${tag}>`
    }
    case 'text':
      return `<p class="${block.style ?? 'plain'}">${words(block.text)}</p>`
    case 'signature':
      return `<p class="statement">${words(block.text)}</p>`
    case 'side-by-side':
      return `<div class="beside">${block.texts.map((text) => `<p class="${block.style ?? 'plain'}">${words(text)}</p>`).join('')}</div>`
    case 'facts':
      return `<dl>${block.rows
        .map(({ label, cells }) => {
          const lines = cells.every((c) => typeof c === 'string')
          const joined = cells.map((c) => cellHtml(c, cellWords(c, report))).join(lines ? '<br>' : ' ')
          return `<dt>${words(label)}</dt><dd>${joined}</dd>`
        })
        .join('')}</dl>`
    case 'table': {
      const shown = tableWords(block, report)
      const rows = block.rows
        .map(
          (row, r) =>
            `<tr>${row.map((cell, i) => `<td class="${block.columns[i]?.align ?? 'left'}">${cellHtml(cell, at(at(shown, r), i))}</td>`).join('')}</tr>`,
        )
        .join('')
      const note = block.note ? `<p class="note">${words(block.note)}</p>` : ''
      return (
        `<section class="table" role="group" tabindex="0" aria-label="${words(block.caption)}"><table>${block.caption ? `<caption>${words(block.caption)}</caption>` : ''}` +
        `<thead><tr>${block.columns.map((c) => headHtml(c, prose)).join('')}</tr></thead><tbody>${rows}</tbody></table>${note}</section>`
      )
    }
    case 'list':
      return `<ul>${block.items.map((item) => `<li>${words(item)}</li>`).join('')}</ul>`
    case 'figure': {
      const theme = { ...PAGE_THEME, decimalSign: report.decimalSign }
      return `<figure tabindex="0">${drawPlot(block.plot, theme)}<figcaption>${words(block.caption)}</figcaption></figure>`
    }
  }
}

/** The calibration record of a session as one HTML file. */
export const reportHtml = (report: ReportContent, options: HtmlOptions = {}): string =>
  printHtml(printableReport(report), options)

/** A report or certificate as one HTML file that needs nothing else: no script, no picture from elsewhere, plots as inline SVG. */
export function printHtml(report: Printable, options: HtmlOptions = {}): string {
  const { logo } = report
  const picture = logo && LOGO.test(logo) ? `<img class="logo" src="${logo}" alt="">` : ''
  const running = escapeMarkup(report.running)
  const pageRule = `@page{@top-left{content:"${report.running.replace(/[\\"\n<]/g, ' ')}"}}`
  return (
    `<!doctype html>\n<html lang="en"><head><meta charset="utf-8">` +
    `<meta name="viewport" content="width=device-width, initial-scale=1">` +
    `<meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src data:; font-src data:; style-src 'unsafe-inline'">` +
    `<meta name="color-scheme" content="light dark"><title>${running}</title>` +
    `<style>${options.fontCss ?? ''}${STYLE}${pageRule}</style></head>` +
    `<body class="${report.status}">` +
    (report.status === 'draft'
      ? `<div class="draft-mark" aria-hidden="true">${escapeMarkup(report.draftWord)}</div>`
      : '') +
    `<main>${picture}` +
    `${report.blocks.map((block) => blockHtml(block, report)).join('\n')}</main></body></html>\n`
  )
}
