import type { Reading } from '../../app/records/reading.ts'
import { isDamage } from './errors.ts'
import type { SessionFile } from './session-file.ts'

/** A stretch of seq numbers that cannot be read any more. */
export interface LostStretch {
  fromSeq: number
  toSeq: number
}

export interface Page {
  readings: Reading[]
  lost: LostStretch[]
}

/**
 * A session's readings page by page. Each page is one short statement, so that a long look never holds up the
 * checkpoints of whoever writes the file. Where bytes of the file make no sense, the page has what can be read and
 * says which readings are lost.
 */
export function* readingPages(
  file: SessionFile,
  {
    fromSeq = 1,
    toSeq = file.lastSeq,
    pageSize = 5000,
  }: { fromSeq?: number; toSeq?: number; pageSize?: number } = {},
): Generator<Page> {
  for (let from = fromSeq; from <= toSeq; from += pageSize) {
    const page: Page = { readings: [], lost: [] }
    readInto(page, file, from, Math.min(toSeq, from + pageSize - 1))
    yield page
  }
}

/** Halves a stretch that cannot be read until what is lost stands alone. */
function readInto(page: Page, file: SessionFile, fromSeq: number, toSeq: number): void {
  let readings: Reading[]
  try {
    readings = file.between(fromSeq, toSeq)
  } catch (fault) {
    if (!isDamage(fault)) throw fault
    if (fromSeq === toSeq) {
      addLost(page, fromSeq, toSeq)
      return
    }
    const middle = Math.floor((fromSeq + toSeq) / 2)
    readInto(page, file, fromSeq, middle)
    readInto(page, file, middle + 1, toSeq)
    return
  }
  let next = fromSeq
  for (const reading of readings) {
    if (reading.seq > next) addLost(page, next, reading.seq - 1)
    page.readings.push(reading)
    next = reading.seq + 1
  }
  if (next <= toSeq) addLost(page, next, toSeq)
}

function addLost(page: Page, fromSeq: number, toSeq: number): void {
  const last = page.lost.at(-1)
  if (last && last.toSeq === fromSeq - 1) last.toSeq = toSeq
  else page.lost.push({ fromSeq, toSeq })
}
