import path from 'node:path'
import { first } from '../../app/base/lists.ts'
import { resistorCalibration, thermometerCalibration } from '../../app/dcc/calibration.ts'
import type { DccReading } from '../../app/dcc/read.ts'
import { type Said, said } from '../../app/messages/said.ts'
import type { Resistor, Thermometer } from '../../app/records/register.ts'
import { withCalibration } from '../../app/results/session-entries.ts'
import { StationError } from '../station/station-error.ts'
import { PRIVATE_FILE, privateFolder } from '../store/private.ts'
import type { StationStore } from '../store/station-store.ts'
import { writeWhole } from '../store/write-whole.ts'
import type { Act } from '../study/checks.ts'
import type { LookedAt } from '../study/look-at-certificate.ts'

/** Where in a station's data folder the digital certificates lie that were read in. */
const CERTIFICATES_IN = path.join('certificates', 'in')

const refused = (why: Said) => new StationError('refused', why, {})

/** Entries with the serial number that a certificate names. */
export function entriesOf(store: StationStore, { item }: DccReading): (Thermometer | Resistor)[] {
  const { thermometers, resistors } = store.register()
  return [...thermometers, ...resistors].filter(({ serial }) => serial !== '' && serial === item.serial)
}

/** The entry that a certificate is of: the one named, or the only one with its serial number. */
function entryFor(store: StationStore, reading: DccReading, to: string | undefined): Thermometer | Resistor {
  const { item } = reading
  if (to !== undefined) {
    const found = store.records.one('thermometer', to) ?? store.records.one('resistor', to)
    if (!found) throw refused(said('certificate-target-unknown', { to }))
    return found
  }
  const found = entriesOf(store, reading)
  if (found.length === 1) return first(found)
  throw refused(
    found.length === 0
      ? said('serial-unknown', { serial: item.serial || 'that the certificate leaves out' })
      : said('serial-of-several', { serial: item.serial }),
  )
}

/**
 * Takes a certificate that was looked at into the register: the calibration, and the file itself beside it. A broken signature
 * is refused. Returns what was done, in words.
 */
export async function takeCertificate(
  store: StationStore,
  bytes: Uint8Array,
  { reading, broken, signature, sha256 }: LookedAt,
  to: string | undefined,
  act: Act,
): Promise<string> {
  if (broken) throw refused(said('certificate-signature-broken', { signature }))
  const entry = entryFor(store, reading, to)
  const id = `dcc-${sha256.slice(0, 16)}`
  const file = path.join(store.folder, CERTIFICATES_IN, `${sha256}.xml`)
  if ('kind' in entry) {
    const made = thermometerCalibration(reading, id, entry)
    if ('refusal' in made) throw refused(made.refusal)
    await keep(file, bytes)
    store.saveThermometer(withCalibration(entry, { ...made.calibration, file: sha256 }), act.who, act.why)
  } else {
    const made = resistorCalibration(reading, id)
    if ('refusal' in made) throw refused(made.refusal)
    await keep(file, bytes)
    const others = entry.calibrations.filter((c) => c.id !== id)
    store.saveResistor(
      { ...entry, calibrations: [...others, { ...made.calibration, file: sha256 }] },
      act.who,
      act.why,
    )
  }
  return `${entry.name} has the calibration of ${reading.date}, certificate ${reading.number}. The file is kept with it.`
}

async function keep(file: string, bytes: Uint8Array): Promise<void> {
  privateFolder(path.dirname(file))
  await writeWhole(file, (append) => append(bytes), PRIVATE_FILE)
}
