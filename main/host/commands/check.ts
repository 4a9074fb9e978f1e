import { createReadStream } from 'node:fs'
import { Command, InvalidArgumentError } from 'commander'
import { first } from '../../../app/base/lists.ts'
import { utcDay } from '../../../app/base/times.ts'
import { FixedPointChoice } from '../../../app/contract/check-request.ts'
import { said } from '../../../app/messages/said.ts'
import { RealClock } from '../../station/clocks/real.ts'
import { StationError } from '../../station/station-error.ts'
import { answerCheckLineAt } from '../../study/checks-lines.ts'
import { plateauOfSession } from '../../study/checks-plateau.ts'
import { openExistingStore, personAct } from '../../study/person-act.ts'
import { answerLines } from './json-lines.ts'

const HELP = `Each line is a request; one line is written for each, {"id", ...} or {"id", "error"}.

  {"id":1,"check":"interchange","pairs":[{"name":"25 and 100","ratio":0.25000012,"u":2e-8,"reciprocal":3.9999981,"uReciprocal":3e-7}]}
  {"id":2,"check":"networks","readings":[{"network":"a","ratio":0.2513,"u":2e-8},{"network":{"series":["a","b"]},"ratio":0.751,"u":2e-8}]}
  {"id":3,"check":"ratios","pairs":[{"name":"25 over 100","ratio":0.25000012,"u":2e-8,"known":0.25000009,"uKnown":4e-8}]}
  {"id":4,"check":"plateau","fixedPoint":"In","depthM":0.16,"uCellMk":0.3,"ohmPerKelvin":0.0965,"times":[0,30],"ohm":[41.04,41.04]}
  {"id":5,"check":"fixed-points","plateaus":[{"fixedPoint":"H2O","ohm":25.5,"depthM":0.25,"uCellMk":0.05,"ohmPerKelvin":0.1017,"uTypeAMk":0.02}]}
  {"id":6,"check":"resistor","date":"2026-03-01","ratio":1.0000019,"uRatio":5e-8,"better":{...},"resistor":{...}}

interchange    n(a, b) n(b, a) - 1 of each pair with its expanded uncertainty (k = 2)
networks       errors of a bridge from combinations of a few resistors, each measured alone as well; network is a name,
               {"series":[...]} or {"parallel":[...]}; powers of the error ([0,2]); a term in n itself only interchange
               and known ratios show
ratios         errors of a bridge at ratios that certificates give
plateau        finds melt, freeze or hold in a record (s, ohm), corrects head, pressure (Pa) and self-heating (mK)
fixed-points   ITS-90 coefficients with uncertainty from reduced plateaus, one of them H2O; tableC: temperatures at which
               the uncertainty is wanted; a plateau may be {"session":FILE,"channel":ID,"fixedPoint":"Sn","depthM":0.15}
bridge         interchanges, networks and known ratios together: the error curve of a bridge; "asCorrection": true corrects by it
cells          two cells of one fixed point by one thermometer: own and other as plateaus
resistors      several resistors at once, from ratios and known values
resistor-temperature  alpha and beta of a resistor from its value at several temperatures
resistor       value of a resistor against a better one (as in the register; with --data their ids do), what was expected,
               drift, the new entry

All u are standard uncertainties. Where something is missing or does not determine the result the answer says what.

With --record each result goes into the register under --data, dated (as it says, else the day of the session it names): of a bridge ("instrument", "date"), of a resistor
("asCalibration": true makes it a calibration too), of fixed points ("thermometer", "certificate", "laboratory"). Only who
keeps the records may: the password is asked for, or taken from STILLPOINT_PASSWORD. The station must not be running.`

interface Given {
  data?: string
  record: boolean
  who?: string
  why?: string
}

export function checkCommand(): Command {
  return new Command('check')
    .description('checks of bridges and resistors, and fixed-point work')
    .argument('[file]', 'JSON Lines, one request a line; standard input when left out or "-"')
    .option('--data <folder>', 'data folder of the station whose register is meant')
    .option('--record', 'write each result into the register', false)
    .option('--who <name>', 'your name, as the station knows it')
    .option('--why <text>', 'reason, kept in the ledger')
    .helpCommand(false)
    .addHelpText('after', `\n${HELP}`)
    .addCommand(plateauCommand())
    .action(check)
}

async function check(file: string | undefined, { data, record, who, why }: Given): Promise<void> {
  const fromInput = file === undefined || file === '-'
  if (record && data === undefined) {
    throw new StationError('refused', said('station-not-named', {}))
  }
  const store = data === undefined ? undefined : openExistingStore(data, record ? 'write' : 'read')
  try {
    const canAsk = !fromInput && process.stdin.isTTY === true
    const act = record && store ? await personAct(store, 'keep-records', { who, why, canAsk }) : undefined
    const today = utcDay(new RealClock().now().utcUs)
    const input = fromInput ? process.stdin : createReadStream(file)
    await answerLines(input, process.stdout, answerCheckLineAt({ store, dataFolder: data, act, today }))
  } finally {
    store?.close()
  }
}

const PLATEAU_HELP = `One line of JSON: the plateau as found, its value with every correction and component, W where R(WTP) is known, and
"request", which goes into the plateaus of a "fixed-points" request as it stands.

Cells are hot or under vacuum and may hold toxic metals; local codes and licensed practice come first.`

interface PlateauGiven {
  session: string
  channel: string
  cell: string
  data?: string
  depth?: number
  uDepth?: number
  pressure?: number
  uPressure?: number
  uCell?: number
  uHeatFlux?: number
  selfHeating?: number
  uSelfHeating?: number
  band?: number
  least?: number
  rWtp?: number
  from?: number
  to?: number
}

function plateauCommand(): Command {
  return new Command('plateau')
    .description('reduce the plateau that a session recorded in a fixed-point cell')
    .requiredOption('--session <file>', 'session file, or an id together with --data')
    .requiredOption('--channel <id>', 'channel of the thermometer in the cell')
    .requiredOption('--cell <point>', 'WTP, or a fixed point by its symbol: Ga, In, Sn, Zn ...', cellName)
    .option('--data <folder>', 'data folder of the station')
    .option('--depth <m>', "depth of the element's middle below the surface", amount)
    .option('--u-depth <m>', 'its standard uncertainty', amount)
    .option('--pressure <Pa>', 'pressure over the liquid', amount)
    .option('--u-pressure <Pa>', 'its standard uncertainty', amount)
    .option('--u-cell <mK>', 'standard uncertainty of the cell itself', amount)
    .option('--u-heat-flux <mK>', 'standard uncertainty for heat along the stem', amount)
    .option('--self-heating <mK>', "instead of the register's figure", amount)
    .option('--u-self-heating <mK>', 'its standard uncertainty', amount)
    .option('--band <mK>', 'a plateau stays within this of its middle', amount)
    .option('--least <s>', 'a shorter one is none', amount)
    .option('--r-wtp <ohm>', 'R(WTP) for W, zero current, instead of the one on record', amount)
    .option('--from <time>', 'look from this moment on (ISO 8601 with zone)', moment)
    .option('--to <time>', 'look up to this moment', moment)
    .addHelpText('after', `\n${PLATEAU_HELP}`)
    .action((_given: PlateauGiven, command: Command) => {
      // --data stands on both: the parent takes it, wherever it is written.
      const given = command.optsWithGlobals<PlateauGiven>()
      const found = plateauOfSession(
        { session: given.session, channel: given.channel, fromUtcUs: given.from, toUtcUs: given.to },
        {
          fixedPoint: FixedPointChoice.parse(given.cell),
          depthM: given.depth,
          uDepthM: given.uDepth,
          pressurePa: given.pressure,
          uPressurePa: given.uPressure,
          uCellMk: given.uCell,
          uHeatFluxMk: given.uHeatFlux,
          bandMk: given.band,
          leastS: given.least,
          ...(given.selfHeating !== undefined && {
            selfHeating: { mk: given.selfHeating, uMk: given.uSelfHeating ?? 0 },
          }),
        },
        { rWtp: given.rWtp, dataFolder: given.data },
      )
      process.stdout.write(`${JSON.stringify(found)}\n`)
    })
}

function amount(text: string): number {
  const value = Number(text)
  if (text.trim() === '' || !Number.isFinite(value) || value < 0) {
    throw new InvalidArgumentError(`give a number not below 0, not "${text}".`)
  }
  return value
}

function moment(text: string): number {
  const ms = Date.parse(text)
  if (Number.isNaN(ms) || !/(Z|[+-]\d\d:\d\d)$/.test(text)) {
    throw new InvalidArgumentError('give a time such as 2026-03-01T18:00:00Z.')
  }
  return ms * 1000
}

function cellName(text: string): string {
  const name = text === 'WTP' ? 'H2O' : text
  const known = FixedPointChoice.safeParse(name)
  if (!known.success) throw new InvalidArgumentError(first(known.error.issues).message)
  return name
}
