import { closeSync, existsSync, openSync, readSync } from 'node:fs'
import { basename, extname } from 'node:path'
import { Command, InvalidArgumentError, Option } from 'commander'
import { at } from '../../../app/base/lists.ts'
import { TIME_FORMS } from '../../../app/contract/tables.ts'
import { CHANNEL_ROLES } from '../../../app/records/bench.ts'
import { RAW_UNITS, RawUnit } from '../../../app/records/reading.ts'
import packageJson from '../../../package.json' with { type: 'json' }
import { RealClock } from '../../station/clocks/real.ts'
import { type CsvMapping, importCsv, type MappedChannel } from '../../store/import/csv.ts'
import { lookAtTable } from '../../store/import/look.ts'
import { minutesOf, readTime, type TimeForm } from '../../store/import/time.ts'
import { openSessionFile } from '../../store/session-file.ts'
import { openStationStore } from '../../store/station-store.ts'
import { sketchOf } from '../../study/session-sketch.ts'
import { defaultDataFolder } from '../data-folder.ts'

const HELP = `--map CHANNEL=COLUMN:UNIT[:KEY=VALUE,...] makes a column a channel; give it once for each.
  UNIT  ${RAW_UNITS.join(', ')}
  KEY   name, role (${CHANNEL_ROLES.join(', ')}), thermometer and resistor (ids of the register), current (mA)

  stillpoint import night.csv --data lab --time "Time:iso" --utc-offset +01:00 \\
    --map "ref=Ratio A:ratio:role=reference,thermometer=t1,resistor=r25" --map "bath=Bath:degC"

A table that "stillpoint export --format csv" wrote needs neither --time nor --map. Every cell is kept as it is
written and marked "imported"; a cell that is no number is kept too, marked "garbled". Comma, semicolon, tab or bar
between cells, and a decimal point or comma, are told from the first lines.`

const MAP = new RegExp(`^([^=]+)=(.+):(${RAW_UNITS.join('|')})(?::(.*))?$`)

function readMap(text: string, before: MappedChannel[] = []): MappedChannel[] {
  const match = MAP.exec(text)
  if (!match) throw new InvalidArgumentError('A map is CHANNEL=COLUMN:UNIT[:KEY=VALUE,...].')
  const [, id, column, unit, more = ''] = match
  const channel: MappedChannel = { id: id!.trim(), column: column!, unit: RawUnit.parse(unit) }
  for (const pair of more.split(',').filter(Boolean)) {
    const [key, value = ''] = pair.split('=', 2)
    if (key === 'name') channel.name = value
    else if (key === 'thermometer') channel.thermometer = value
    else if (key === 'resistor') channel.resistor = value
    else if (key === 'current' && Number(value) > 0) channel.currentMa = Number(value)
    else if (key === 'role' && CHANNEL_ROLES.some((role) => role === value))
      channel.role = value as (typeof CHANNEL_ROLES)[number]
    else throw new InvalidArgumentError(`"${pair}" is not one of name, role, thermometer, resistor, current.`)
  }
  return [...before, channel]
}

function readTimeColumn(text: string): { column: string; form: TimeForm } {
  const match = /^(.+?)(?::(iso|s|ms|us))?$/.exec(text)
  if (!match) throw new InvalidArgumentError(`COLUMN or COLUMN:FORM, FORM one of ${TIME_FORMS.join(', ')}.`)
  return { column: at(match, 1), form: (match[2] as TimeForm | undefined) ?? 'iso' }
}

function readOffset(text: string): number {
  const minutes = minutesOf(text)
  if (minutes === undefined) throw new InvalidArgumentError('An offset is +HH:MM or -HH:MM.')
  return minutes
}

function readStart(text: string): number {
  const utcUs = readTime(text, { form: 'iso', originUtcUs: 0 })
  if (utcUs === undefined)
    throw new InvalidArgumentError('A start is ISO 8601 with a zone: 2026-03-01T18:00:00Z.')
  return utcUs
}

/** How much of a file is looked at to find its signs. */
const BEGINNING_BYTES = 65_536

interface Given {
  data: string
  map?: MappedChannel[]
  time?: { column: string; form: TimeForm }
  utcOffset?: number
  start?: number
  delimiter?: string
  decimal?: '.' | ','
  name?: string
  id?: string
  operator: string
}

/** The sign between cells and the decimal sign: as they were said, else as the first lines are written. */
function signsOf(path: string, given: Given): Pick<CsvMapping, 'delimiter' | 'decimalSign'> {
  const { decimal } = given
  const delimiter = given.delimiter === '\\t' ? '\t' : given.delimiter
  if (delimiter !== undefined && decimal !== undefined) return { delimiter, decimalSign: decimal }
  const look = existsSync(path)
    ? lookAtTable(beginningOf(path))
    : { delimiter: ',', decimalSign: '.' as const }
  return { delimiter: delimiter ?? look.delimiter, decimalSign: decimal ?? look.decimalSign }
}

function beginningOf(path: string): string {
  const file = openSync(path, 'r')
  try {
    const bytes = Buffer.alloc(BEGINNING_BYTES)
    return bytes.toString('utf8', 0, readSync(file, bytes))
  } finally {
    closeSync(file)
  }
}

/** `stillpoint import FILE.csv --map ...`: makes a session of readings recorded elsewhere. */
export function importCommand(): Command {
  return new Command('import')
    .argument('<file>', 'CSV file')
    .option(
      '--data <folder>',
      'data folder of the station the session goes into; it must not be running',
      defaultDataFolder(),
    )
    .option('--map <mapping>', 'column that becomes a channel, see below', readMap)
    .option('--time <column>', 'COLUMN:FORM of the time, FORM one of iso, s, ms, us', readTimeColumn)
    .option('--utc-offset <offset>', 'what a time without zone means, such as +01:00', readOffset)
    .option(
      '--start <time>',
      's, ms, us count from this moment (ISO 8601 with zone), not from 1970',
      readStart,
    )
    .option('--delimiter <sign>', 'between cells; found out from the first lines where it is not said')
    .addOption(
      new Option('--decimal <sign>', 'decimal sign; found out where it is not said').choices(['.', ',']),
    )
    .option('--name <name>', 'name of the session')
    .option('--id <id>', 'id of the session')
    .option('--operator <person>', 'who recorded it', 'not stated')
    .description('make a session of a CSV file of ratios, resistances or temperatures')
    .addHelpText('after', `\n${HELP}`)
    .action(async (path: string, given: Given) => {
      const clock = new RealClock()
      const store = openStationStore(given.data, { clock, sketch: sketchOf })
      try {
        const plain = basename(path, extname(path))
        const id = given.id ?? `imported-${plain.replaceAll(/[^A-Za-z0-9_-]+/g, '-')}`
        const out = store.sessionPath(id)
        const result = await importCsv({
          path,
          out,
          mapping: {
            time: given.time && {
              column: given.time.column,
              reader: { form: given.time.form, offsetMin: given.utcOffset, originUtcUs: given.start ?? 0 },
            },
            channels: given.map ?? [],
            ...signsOf(path, given),
          },
          id,
          name: given.name ?? plain,
          operator: given.operator,
          laboratory: store.settings()?.laboratory ?? { name: 'not stated', address: [], country: 'XX' },
          register: store.registerOf({
            thermometers: given.map?.map(({ thermometer }) => thermometer),
            resistors: given.map?.map(({ resistor }) => resistor),
          }),
          program: { name: 'Stillpoint', version: packageJson.version },
          clock,
        })
        const file = openSessionFile(out, { mode: 'read' })
        store.registerSession(file)
        file.close()
        console.log(
          `${id}: ${result.readings} readings, ${result.withoutNumber} without a number, ${result.emptyCells} empty cells left out`,
        )
      } finally {
        store.close()
      }
    })
}
