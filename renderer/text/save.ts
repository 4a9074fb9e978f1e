import { say } from '../page/page.ts'

/** Hands a file to the browser's downloads. */
export function save(blob: Blob, name: string): void {
  const link = document.createElement('a')
  link.href = URL.createObjectURL(blob)
  link.download = name
  link.click()
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000)
  say(`Saved as ${name}.`)
}

/** Copies text and says so. */
export function copy(text: string, what: string): void {
  navigator.clipboard.writeText(text).then(
    () => say(`${what} copied.`),
    () => say('The browser does not let this page copy. Select the text and copy it by hand.', 'problem'),
  )
}

/** Copies cells as tab-separated text and as a table; into `clipboard` where a copy is under way, else by the browser. */
export function copyCells(text: string, html: string, what: string, clipboard?: DataTransfer): void {
  if (clipboard) {
    clipboard.setData('text/plain', text)
    clipboard.setData('text/html', html)
    say(`${what} copied.`)
    return
  }
  const parts = { 'text/plain': text, 'text/html': html }
  navigator.clipboard.write([new ClipboardItem(parts)]).then(
    () => say(`${what} copied.`),
    () => say('The browser does not let this page copy. Press Ctrl C with the cells chosen.', 'problem'),
  )
}
