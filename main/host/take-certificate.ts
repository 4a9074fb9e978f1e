import { createHash } from 'node:crypto'
import path from 'node:path'
import { resistorCalibration, thermometerCalibration } from '../../app/dcc/calibration.ts'
import { type DccReading, readDcc } from '../../app/dcc/read.ts'
import type { Resistor, Thermometer } from '../../app/records/register.ts'
import { withCalibration } from '../../app/results/session-entries.ts'
import { StationError } from '../station/station-error.ts'
import { PRIVATE_FILE, privateFolder } from '../store/private.ts'
import type { StationStore } from '../store/station-store.ts'
import { writeWhole } from '../store/write-whole.ts'
import type { Act } from '../study/checks.ts'
import { rootsOf } from '../study/signing/look-at-signed.ts'
import { verdictWords, verifyXml } from '../study/signing/verify.ts'

/** Where in a station's data folder the digital certificates lie that were read in. */
const CERTIFICATES_IN = path.join('certificates', 'in')

/** A certificate as it was read: what it says, whose signature it bears. */
export interface LookedAt {
  readonly reading: DccReading
  /** Whose signature it is, in words. */
  readonly signature: string
  readonly broken: boolean
  readonly sha256: string
}

/** Reads a certificate and checks its signature against the roots in the data folder, `keys/roots/*.pem`. */
export async function lookAtCertificate(
  folder: string,
  bytes: Uint8Array,
  nowUtcUs: number,
): Promise<LookedAt> {
  const text = new TextDecoder('utf-8', { fatal: false }).decode(bytes)
  const reading = readDcc(text)
  const verdict = await verifyXml(text, rootsOf(folder), nowUtcUs)
  return {
    reading,
    signature: verdictWords(verdict),
    broken: verdict.state === 'broken',
    sha256: createHash('sha256').update(bytes).digest('hex'),
  }
}

const refused = (words: string) => new StationError('refused', words, {})

/** The entry that a certificate is of: the one named, or the only one with its serial number. */
function entryFor(store: StationStore, { item }: DccReading, to: string | undefined): Thermometer | Resistor {
  const { thermometers, resistors } = store.register()
  const all = [...thermometers, ...resistors]
  if (to !== undefined) {
    const found = all.find(({ id }) => id === to)
    if (!found)
      throw refused(
        `The register has no thermometer or resistor "${to}". Enter it first, or name another with --to.`,
      )
    return found
  }
  const found = all.filter(({ serial }) => serial !== '' && serial === item.serial)
  if (found.length === 1) return found[0]!
  throw refused(
    found.length === 0
      ? `The register has nothing with the serial number ${item.serial || 'that the certificate leaves out'}. Enter it first, or name the entry with --to ID.`
      : `Several entries have the serial number ${item.serial}. Name the one with --to ID.`,
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
  if (broken) throw refused(`${signature} Ask its issuer for another copy.`)
  const entry = entryFor(store, reading, to)
  const id = `dcc-${sha256.slice(0, 16)}`
  const file = path.join(store.folder, CERTIFICATES_IN, `${sha256}.xml`)
  if ('kind' in entry) {
    const made = thermometerCalibration(reading, id)
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
