const hex = (value: number): string => (value & 0xff).toString(16).toUpperCase().padStart(2, '0')

function fold(text: string, start: number, join: (sum: number, byte: number) => number): number {
  let sum = start
  for (let i = 0; i < text.length; i += 1) sum = join(sum, text.charCodeAt(i) & 0xff)
  return sum
}

/** Sum of all bytes modulo 256, two upper-case hexadecimal digits. */
export function byteSum(text: string): string {
  return hex(fold(text, 0, (sum, byte) => sum + byte))
}

/** What brings the sum of all bytes to 0 modulo 256. */
export function negatedSum(text: string): string {
  return hex(-fold(text, 0, (sum, byte) => sum + byte))
}

/** Exclusive or of all bytes. */
export function byteXor(text: string): string {
  return hex(fold(text, 0, (sum, byte) => sum ^ byte))
}
