import type { Bath } from '../../app/records/bath.ts'
import type { Cell } from '../../app/records/cell.ts'
import type { Fluid, InstrumentRecord, Resistor, Thermometer } from '../../app/records/register.ts'
import { station } from '../client/connect.ts'
import type { Entry, Shelf } from './register.model.ts'

/** Saves a record of a shelf; `why` stands in the ledger. */
export function saveEntry(shelf: Shelf, saved: Entry, why: string): Promise<{ words: string }> {
  switch (shelf) {
    case 'thermometers':
      return station.register.saveThermometer({ entry: saved as Thermometer, why })
    case 'resistors':
      return station.register.saveResistor({ entry: saved as Resistor, why })
    case 'instruments':
      return station.register.saveInstrument({ entry: saved as InstrumentRecord, why })
    case 'cells':
      return station.register.saveCell({ entry: saved as Cell, why })
    case 'baths':
      return station.register.saveBath({ entry: saved as Bath, why })
    case 'fluids':
      return station.register.saveFluid({ entry: saved as Fluid, why })
  }
}
