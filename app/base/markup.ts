/** Characters that XML 1.0 (fifth edition, 2.2) and HTML have no place for: controls, halves of pairs, U+FFFE and U+FFFF. */
const NO_CHARACTER = /[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\u{10000}-\u{10ffff}]/gu

/** Text with the sign for an unknown character wherever a document could not hold what stands there. */
export const documentText = (text: string): string => text.replace(NO_CHARACTER, '\ufffd')

/** Any text as content or attribute of XML and HTML: whatever somebody has typed is text there and nothing else. */
export const escapeMarkup = (text: string): string =>
  documentText(text).replace(/[&<>"'`\r]/g, (c) => `&#${c.charCodeAt(0)};`)
