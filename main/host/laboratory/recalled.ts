import { outOfUseWords } from '../../../app/records/out-of-use.ts'
import type { Register } from '../../../app/records/register.ts'
import type { StationStore } from '../../store/station-store.ts'

/** What of a session's register is out of use by the records of now, in words. */
export function recalledSince(
  store: StationStore,
  { thermometers, resistors, instruments }: Register,
): { id: string; words: string }[] {
  const ids = (entries: readonly { id: string }[]) => entries.map(({ id }) => id)
  const { records } = store
  return [
    ...records.some('thermometer', ids(thermometers)),
    ...records.some('resistor', ids(resistors)),
    ...records.some('instrument', ids(instruments)),
  ].flatMap(({ id, name, outOfUse }) => (outOfUse ? [{ id, words: outOfUseWords(name, outOfUse) }] : []))
}
