import { mkdtempSync } from 'node:fs'
import { rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { basename, extname, join } from 'node:path'
import { plainId } from '../../app/base/plain-id.ts'
import { counted } from '../../app/base/plural.ts'
import type { TableMeaning } from '../../app/contract/tables.ts'
import packageJson from '../../package.json' with { type: 'json' }
import type { CsvMapping } from '../store/import/csv.ts'
import { openSessionFile } from '../store/session-file.ts'
import type { Services } from './services.ts'

export interface TableWanted {
  readonly bytes: Uint8Array
  /** Name of the file it came in. */
  readonly file: string
  readonly name: string
  readonly operator: string
  readonly meaning: TableMeaning
}

/**
 * Makes a session of a table recorded elsewhere, away from the loop that measures, and lists it. Throws StoreError
 * 'refused' with line and column where the table does not read as it was said to; nothing is left behind then.
 */
export async function importTable(
  services: Services,
  { bytes, file, name, operator, meaning }: TableWanted,
  signal?: AbortSignal,
): Promise<{ session: string; words: string }> {
  const { store, reader, clock } = services
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-import-'))
  try {
    const path = join(folder, basename(file) || 'table.csv')
    await writeFile(path, bytes)
    const session = freshId(services, basename(file, extname(file)))
    const out = store.sessionPath(session)
    const options = {
      path,
      mapping: mappingOf(meaning),
      id: session,
      name,
      operator,
      laboratory: services.settings().laboratory,
      register: store.registerOf({
        thermometers: meaning.channels.map(({ thermometer }) => thermometer),
        resistors: meaning.channels.map(({ resistor }) => resistor),
      }),
      program: { name: 'Stillpoint', version: packageJson.version },
    }
    const { readings, withoutNumber, emptyCells } = await reader
      .long(signal)
      .import(out, options, clock.now().utcUs)
    const made = openSessionFile(out, { mode: 'read' })
    try {
      store.registerSession(made)
    } finally {
      made.close()
    }
    services.station.touched('sessions')
    const words = `${counted(readings, 'reading')} imported, ${withoutNumber} of them without a number; ${counted(emptyCells, 'empty cell')} left out.`
    return { session, words }
  } finally {
    await rm(folder, { recursive: true, force: true })
  }
}

function mappingOf({ delimiter, decimalSign, time, channels }: TableMeaning): CsvMapping {
  const ids = new Map<string, number>()
  return {
    delimiter,
    decimalSign,
    time: time
      ? {
          column: time.column,
          reader: {
            form: time.form,
            offsetMin: time.offsetMin ?? undefined,
            originUtcUs: time.startUtcUs ?? 0,
          },
        }
      : undefined,
    channels: channels.map((channel) => ({ ...channel, id: channelId(channel.name, ids) })),
  }
}

/** An id of letters, digits and dashes; a number is added where two names come to the same. */
function channelId(name: string, taken: Map<string, number>): string {
  const plain = plainId(name, Number.POSITIVE_INFINITY) || 'column'
  const times = (taken.get(plain) ?? 0) + 1
  taken.set(plain, times)
  return times === 1 ? plain : `${plain}-${times}`
}

function freshId({ store }: Services, name: string): string {
  const plain = `imported-${name.replaceAll(/[^A-Za-z0-9_-]+/g, '-')}`.slice(0, 60)
  let id = plain
  for (let n = 2; store.hasSession(id); n++) id = `${plain}-${n}`
  return id
}
