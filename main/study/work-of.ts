import { said } from '../../app/messages/said.ts'
import type { RegisterWork } from '../../app/report/certificate/register-certificate.ts'
import { StationError } from '../station/station-error.ts'
import type { StationStore } from '../store/station-store.ts'

/** Work that stands in the register, not in a session. */
export interface WorkOf {
  readonly kind: 'fixed-points' | 'resistor'
  /** Register id of the thermometer or resistor. */
  readonly id: string
  /** Id of the calibration or comparison; the newest where left out. */
  readonly entry?: string | undefined
}

/** What of the register and the station's settings a certificate of such work needs: plain data for a thread. */
export function registerWork(
  store: StationStore,
  { kind, id }: WorkOf,
  program: RegisterWork['program'],
): RegisterWork {
  const laboratory = store.settings()?.laboratory
  if (!laboratory) {
    throw new StationError('refused', said('laboratory-not-entered', {}))
  }
  const own = store.records.one(kind === 'resistor' ? 'resistor' : 'thermometer', id)
  const owner = own && 'owner' in own ? own.owner : ''
  return {
    laboratory,
    decimalSign: store.settings()?.decimalSign ?? '.',
    program,
    who: store.ledger({ subject: id, most: 1 })[0]?.who ?? '',
    thermometers: own && 'wtpHistory' in own ? [own] : [],
    resistors: store.records.all('resistor'),
    cells: store.records.all('cell'),
    instruments: store.records.all('instrument'),
    customer: store.records.all('customer').find(({ name }) => owner !== '' && name === owner) ?? null,
  }
}
