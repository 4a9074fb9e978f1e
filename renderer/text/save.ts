import { say } from '../shell/page.ts'

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
