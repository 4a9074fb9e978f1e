import { Bath } from '../../app/records/bath.ts'
import type { Bench } from '../../app/records/bench.ts'
import type { Act, Records } from './records/records.ts'

/** Longest id of a record, less room for a number behind it. */
const MOST_OF_ID = 74

/**
 * Saves a bench inside the caller's transaction. A bath that names no entry of the register gets one of its own name, which takes
 * over the surveys that came with the bench: so its surveys, repairs and nights have an address.
 */
export function putBench(records: Records, bench: Bench, act: Act): void {
  const { bath } = bench
  if (!bath || bath.register !== undefined) {
    records.put('bench', bench.id, bench, act)
    return
  }
  const stem = `bath-${bench.id}`.slice(0, MOST_OF_ID)
  let id = stem
  for (let n = 2; records.known('bath', id); n++) id = `${stem}-${n}`
  const { surveys, ...rest } = bath
  records.put('bath', id, Bath.parse({ id, name: bath.name, ...(surveys && { surveys }) }), act)
  records.put('bench', bench.id, { ...bench, bath: { ...rest, register: id } }, act)
}

/** Baths of benches that were saved before baths had entries of their own get one; inside the caller's transaction. */
export function takeBaths(records: Records): void {
  const act = {
    who: 'Stillpoint',
    why: 'a bath has an entry of its own, which keeps its surveys and repairs',
  }
  for (const id of records.ids('bench')) {
    const bench = records.one('bench', id)
    if (bench?.bath && bench.bath.register === undefined) putBench(records, bench, act)
  }
}
