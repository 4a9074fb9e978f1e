import { first } from '../../app/base/lists.ts'
import type { MeasuredWtpView } from '../../app/contract/checks.ts'
import { said } from '../../app/messages/said.ts'
import type { Thermometer } from '../../app/records/register.ts'
import { withCalibration, withWtp } from '../../app/results/session-entries.ts'
import { StationError } from '../station/station-error.ts'
import { type Act, saveLooked } from '../study/checks.ts'
import type { Services } from './services.ts'

function refuseRunning(services: Services, session: string): void {
  if (services.station.session?.info.id !== session) return
  throw new StationError('session-runs', said('results-while-running', {}))
}

function keptThermometer(services: Services, id: string): Thermometer | undefined {
  return services.store.records.one('thermometer', id)
}

/** R(WTP) of an ended session as `takeWtp` would take it. Throws StationError 'session-runs'. */
export async function measuredWtp(services: Services, session: string): Promise<MeasuredWtpView[]> {
  refuseRunning(services, session)
  const { wtp } = await services.reports.ask().entries(session)
  return wtp.map(({ thermometer, name, entry, comparison }) => {
    const of = (when: 'before' | 'after') => comparison.measurements.find((m) => m.when === when)?.ohm ?? null
    return {
      thermometer,
      name,
      date: entry.date,
      ohm: entry.ohm,
      uOhm: entry.uOhm,
      beforeOhm: of('before'),
      afterOhm: of('after'),
      changeMk: comparison.changeMk,
      expandedChangeMk: comparison.expandedChangeMk,
      changed: comparison.changed,
      note: entry.note ?? '',
    }
  })
}

/** Takes what a session measured at the water triple point into the register. Returns what was done, in words. */
export async function takeWtp(services: Services, session: string, act: Act): Promise<string> {
  refuseRunning(services, session)
  const { wtp: measured } = await services.reports.ask().entries(session)
  if (measured.length === 0) {
    throw new StationError('refused', said('session-without-rwtp', {}), { session })
  }
  const taken: string[] = []
  for (const { thermometer: id, name, entry } of measured) {
    const kept = keptThermometer(services, id)
    if (!kept) continue
    saveLooked(services.store, withWtp(kept, entry), act)
    taken.push(`${name} ${entry.ohm} ohm`)
  }
  if (taken.length === 0) {
    throw new StationError('refused', said('thermometers-gone', {}), {
      session,
    })
  }
  services.station.touched('register')
  return `R(WTP) of ${first(measured).entry.date} is in the register: ${taken.join(', ')}.`
}

/** Takes a fit of a signed-off session into the register, as a calibration of the thermometer under test. */
export async function enterCalibration(
  services: Services,
  { session, channel, certificate }: { session: string; channel: string; certificate?: string | undefined },
  act: Act,
): Promise<string> {
  refuseRunning(services, session)
  const { signed, version, job } = await services.reports.ask().entries(session)
  if (!signed) {
    throw new StationError('refused', said('take-from-draft', {}), { session })
  }
  const number = certificate ?? `${job ?? session}, version ${version}`
  const { thermometer, calibration, wtp } = await services.reports.ask().calibration(session, channel, number)
  const kept = keptThermometer(services, thermometer.id)
  if (!kept) {
    throw new StationError('refused', said('gone-from-register', { thermometer: thermometer.name }), {
      thermometer: thermometer.id,
    })
  }
  const calibrated = withCalibration(kept, calibration)
  saveLooked(services.store, wtp ? withWtp(calibrated, wtp) : calibrated, act)
  services.station.touched('register')
  return `${kept.name} has a calibration of ${calibration.date}, ${number}, from ${calibration.lowC.toFixed(1)} to ${calibration.highC.toFixed(1)} °C, ${
    calibration.atZeroCurrent ? 'at zero current' : 'at its measuring current'
  }.`
}
