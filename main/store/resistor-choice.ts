import { nominalConversion } from '../../app/live/nominal.ts'
import { said } from '../../app/messages/said.ts'
import { inForce } from '../../app/records/register.ts'
import { prepare } from '../../app/thermometry/convert.ts'
import {
  adviseResistor,
  type ResistorAdvice,
  type ResistorQuestion,
} from '../../app/thermometry/resistor-advice.ts'
import { StoreError } from './errors.ts'
import { readRecords } from './register-file.ts'
import type { Db } from './sqlite.ts'

/** What is wanted of a resistor for a thermometer of the register. */
export type ResistorWanted = Pick<ResistorQuestion, 'lowC' | 'highC' | 'wantedMk' | 'dateIso'>

/** What every resistor of the register would do for a thermometer. Throws StoreError 'not-found' | 'refused'. */
export function adviseOf(db: Db, thermometer: string, wanted: ResistorWanted): ResistorAdvice[] {
  const records = readRecords(db)
  const entry = records.one('thermometer', thermometer)
  if (!entry)
    throw new StoreError('not-found', said('no-such-thermometer', { thermometer }), {
      thermometer,
    })
  const conversion = inForce(entry.calibrations, wanted.dateIso)?.conversion ?? nominalConversion(entry)
  if (!conversion)
    throw new StoreError('refused', said('resistance-unknown', { entry: entry.name }), { thermometer })
  return adviseResistor(
    { ...wanted, thermometer: prepare(conversion), currentMa: entry.currentMa },
    records.all('resistor'),
  )
}
