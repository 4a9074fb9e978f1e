/**
 * Readings as binary columns: one buffer holds typed arrays one after another behind a small JSON head, so that a
 * window gets a hundred thousand values without parsing one. Little-endian, every column aligned to 8 bytes.
 */

export type ColumnType = 'f64' | 'f32' | 'i32' | 'u32' | 'u8' | 'text'
export type Column = Float64Array | Float32Array | Int32Array | Uint32Array | Uint8Array | readonly string[]
export type Columns = Record<string, Column>

interface Head {
  columns: { name: string; type: ColumnType; length: number; offset: number; bytes: number }[]
  meta: unknown
}

const MAGIC = 0x31435053 // 'SPC1', little-endian

function typeOf(column: Column): ColumnType {
  if (column instanceof Float64Array) return 'f64'
  if (column instanceof Float32Array) return 'f32'
  if (column instanceof Int32Array) return 'i32'
  if (column instanceof Uint32Array) return 'u32'
  if (column instanceof Uint8Array) return 'u8'
  return 'text'
}

const align = (n: number) => (n + 7) & ~7

/** Packs columns and a JSON-able `meta` into one buffer. */
export function packColumns(columns: Columns, meta: unknown = null): Uint8Array<ArrayBuffer> {
  const head: Head = { columns: [], meta }
  const bodies: Uint8Array[] = []
  let offset = 0
  for (const [name, column] of Object.entries(columns)) {
    const type = typeOf(column)
    const body =
      column instanceof Float64Array ||
      column instanceof Float32Array ||
      column instanceof Int32Array ||
      column instanceof Uint32Array ||
      column instanceof Uint8Array
        ? new Uint8Array(column.buffer, column.byteOffset, column.byteLength)
        : encodeText((column as readonly string[]).join('\n'))
    head.columns.push({ name, type, length: column.length, offset, bytes: body.byteLength })
    bodies.push(body)
    offset = align(offset + body.byteLength)
  }
  const headBytes = encodeText(JSON.stringify(head))
  const start = align(8 + headBytes.byteLength)
  const out = new Uint8Array(start + offset)
  const view = new DataView(out.buffer)
  view.setUint32(0, MAGIC, true)
  view.setUint32(4, headBytes.byteLength, true)
  out.set(headBytes, 8)
  for (const [i, body] of bodies.entries()) out.set(body, start + head.columns[i]!.offset)
  return out
}

/** Unpacks what packColumns made. Typed columns are views into `buffer` where alignment allows. Throws RangeError on anything else. */
export function unpackColumns(buffer: ArrayBuffer): { columns: Columns; meta: unknown } {
  const view = new DataView(buffer)
  if (buffer.byteLength < 8 || view.getUint32(0, true) !== MAGIC) throw new RangeError('not a column buffer')
  const headLength = view.getUint32(4, true)
  const start = align(8 + headLength)
  if (start > buffer.byteLength) throw new RangeError('column buffer is cut short')
  const head = JSON.parse(decodeText(new Uint8Array(buffer, 8, headLength))) as Head
  const columns: Columns = {}
  for (const { name, type, length, offset, bytes } of head.columns) {
    const at = start + offset
    if (at + bytes > buffer.byteLength) throw new RangeError(`column ${name} is cut short`)
    columns[name] = readColumn(buffer, type, at, length, bytes)
  }
  return { columns, meta: head.meta }
}

function readColumn(
  buffer: ArrayBuffer,
  type: ColumnType,
  at: number,
  length: number,
  bytes: number,
): Column {
  switch (type) {
    case 'f64':
      return new Float64Array(buffer, at, length)
    case 'f32':
      return new Float32Array(buffer, at, length)
    case 'i32':
      return new Int32Array(buffer, at, length)
    case 'u32':
      return new Uint32Array(buffer, at, length)
    case 'u8':
      return new Uint8Array(buffer, at, length)
    case 'text':
      return length === 0 ? [] : decodeText(new Uint8Array(buffer, at, bytes)).split('\n')
  }
}

declare const TextEncoder: { new (): { encode(text: string): Uint8Array } }
declare const TextDecoder: { new (): { decode(bytes: Uint8Array): string } }
const encoder = new TextEncoder()
const decoder = new TextDecoder()
const encodeText = (text: string) => encoder.encode(text)
const decodeText = (bytes: Uint8Array) => decoder.decode(bytes)
