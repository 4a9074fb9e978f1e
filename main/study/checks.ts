import { valueOfPlateau } from '../../app/checks/answer-check.ts'
import { compareCells } from '../../app/checks/cell-comparison.ts'
import { withPlateaus } from '../../app/checks/cell-history.ts'
import {
  bridgeCheckWords,
  freeId,
  withBridgeCheck,
  withComparison,
  withFixedPoints,
} from '../../app/checks/check-record.ts'
import { checkThermometer } from '../../app/checks/register-check.ts'
import type { CheckRequest } from '../../app/contract/check-request.ts'
import { asTold, said } from '../../app/messages/said.ts'
import type { Thermometer } from '../../app/records/register.ts'
import { StationError } from '../station/station-error.ts'
import type { StationStore } from '../store/station-store.ts'

/** Who changes the register, and why: what the ledger keeps of every act. */
export interface Act {
  readonly who: string
  readonly why: string
}

const missing = (what: string, id: string) =>
  new StationError('refused', said('not-in-register', { what, id }), { id })

/** Stores a thermometer's entry after the same look for typing errors as a person's own. */
export function saveLooked(store: StationStore, entry: Thermometer, { who, why }: Act): void {
  const wrong = checkThermometer(entry).find(({ severity }) => severity === 'error')
  if (wrong) throw new StationError('refused', asTold(wrong.words), { id: entry.id })
  store.saveThermometer(entry, who, why)
}

/** A request as a window sends it, with the resistors it names as the register has them now. */
export function withKeptResistors(store: StationStore, request: CheckRequest): CheckRequest {
  if (request.check !== 'resistor') return request
  const kept = (id: string) => {
    const found = store.records.one('resistor', id)
    if (!found) throw missing('resistor', id)
    return found
  }
  return { ...request, better: kept(request.better.id), resistor: kept(request.resistor.id) }
}

/**
 * Writes the result of a check into the register, with its ledger entry. Returns what was written, in words. Throws
 * StationError 'refused' where the register has no such entry or the request does not name one.
 */
export function recordCheck(store: StationStore, request: CheckRequest, act: Act, today: string): string {
  switch (request.check) {
    case 'interchange':
    case 'networks':
    case 'ratios':
    case 'bridge': {
      if (request.instrument === undefined) {
        throw new StationError('refused', said('bridge-not-named', {}))
      }
      const instrument = store.records.one('instrument', request.instrument)
      if (!instrument) throw missing('instrument', request.instrument)
      const { entry, check } = withBridgeCheck(instrument, request, today)
      store.saveInstrument(entry, act.who, act.why)
      return bridgeCheckWords(check, entry)
    }
    case 'resistor': {
      const kept = store.records.one('resistor', request.resistor.id)
      if (!kept) throw missing('resistor', request.resistor.id)
      const { entry, compared } = withComparison({ ...request, resistor: kept })
      store.saveResistor(entry, act.who, act.why)
      return compared.calibration === undefined
        ? `The comparison of ${kept.name} on ${compared.date} is in the register; its calibration stays as it was.`
        : `${kept.name} has a new calibration of ${compared.date}: ${compared.ohm} ohm.`
    }
    case 'fixed-points': {
      if (request.thermometer === undefined) {
        throw new StationError('refused', said('thermometer-not-named', {}))
      }
      const thermometer = store.records.one('thermometer', request.thermometer)
      if (!thermometer) throw missing('thermometer', request.thermometer)
      const { entry, calibration } = withFixedPoints(thermometer, request, today)
      const cells = withPlateaus(store.records.all('cell'), request, today)
      saveLooked(store, entry, act)
      for (const cell of cells) store.saveCell(cell, act.who, act.why)
      return `${thermometer.name} has a new calibration of ${calibration.date} and an R(WTP) of that day.`
    }
    case 'cells': {
      const cell = store.records.one('cell', request.cell)
      if (!cell) throw missing('cell', request.cell)
      if (!store.records.one('cell', request.against)) throw missing('cell', request.against)
      const date = request.date ?? today
      const found = compareCells(
        valueOfPlateau(request.own),
        valueOfPlateau(request.other),
        request.own.ohmPerKelvin,
      )
      const earlier = cell.comparisons ?? []
      const comparison = {
        id: freeId(`${cell.id}-${request.against}-${date}`, earlier),
        date,
        against: request.against,
        ...found,
        ...(request.note !== undefined && { note: request.note }),
      }
      store.saveCell({ ...cell, comparisons: [...earlier, comparison] }, act.who, act.why)
      return `${cell.name} lies ${found.differenceMk.toFixed(3)} mK from the other cell, U ${(2 * found.uMk).toFixed(3)} mK (k = 2): they ${found.agrees ? 'agree' : 'do not agree'} within their uncertainties.`
    }
    case 'resistors':
    case 'resistor-temperature':
      throw new StationError('refused', said('worked-out-is-no-entry', {}))
    case 'plateau':
      throw new StationError('refused', said('plateau-is-no-entry', {}))
  }
}
