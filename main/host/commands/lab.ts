import { readFileSync } from 'node:fs'
import { createServer } from 'node:net'
import { createInterface } from 'node:readline'
import { Command, InvalidArgumentError, Option } from 'commander'
import { HISLIP_PORT } from '../../../app/buses/hislip.ts'
import { PORTMAP } from '../../../app/buses/portmap.ts'
import { USBIP_PORT } from '../../../app/buses/usbip.ts'
import { LINK_KIND_WORDS, linkWords, resourceOf } from '../../../app/records/link-words.ts'
import { type BusPorts, LAB_BUSES, type LabBus } from '../../../simulator/buses/lab-buses.ts'
import { FaultError } from '../../../simulator/faults/order.ts'
import { type FaultScript, parseFaultScript } from '../../../simulator/faults/script.ts'
import type { HostileCase } from '../../../simulator/hostile/cases.ts'
import { type Lab, startLab } from '../../../simulator/lab.ts'
import { portsFrom } from '../../../simulator/ports.ts'
import { CELL_SUBSTANCES, type CellSubstance, fixedPoint } from '../../../simulator/scenarios/fixed-point.ts'
import { SCENARIOS } from '../../../simulator/scenarios/index.ts'
import { SCENARIO_NAMES, type ScenarioName } from '../../../simulator/scenarios/scenario.ts'
import { RealClock } from '../../station/clocks/real.ts'
import { ScaledClock } from '../../station/clocks/scaled.ts'
import { hostileOption } from './hostile-option.ts'

interface LabCommandOptions {
  seed: number
  speed: number
  scenario: ScenarioName
  serial: boolean
  bus: LabBus
  ports: PortChoice
  portmapper?: number
  faults?: string
  cell?: CellSubstance
  hostile: HostileCase
  orders: boolean
  json: boolean
}

type PortChoice = { base: number } | { byId: Record<string, number> }

/** `stillpoint lab`: the lab in a box alone, until Ctrl-C. */
export function labCommand(): Command {
  return new Command('lab')
    .description('run the lab in a box alone: simulated instruments on TCP, serial ports or a bus')
    .option('--seed <n>', 'everything random follows from it', wholeNumber, 1)
    .option('--speed <x>', "seconds of the lab's time per second", positiveNumber, 1)
    .addOption(new Option('--scenario <name>', 'what the lab holds').choices(SCENARIO_NAMES).default('demo'))
    .addOption(new Option('--cell <substance>', 'cell of the scenario fixed-point').choices(CELL_SUBSTANCES))
    .addOption(hostileOption())
    .addOption(
      new Option(
        '--bus <bus>',
        'what the instruments are reached by; those that have no place on it stay on TCP',
      )
        .choices(LAB_BUSES)
        .default('tcp'),
    )
    .option('--serial', 'the same as --bus serial: pseudo-terminals (needs socat)', false)
    .option(
      '--portmapper <port>',
      'port of the port mapper of VXI-11; left out: 111, where plain clients look, or any free one without the right to it',
      portNumber,
    )
    .option(
      '--ports <ports>',
      'first of the TCP ports, 0 for any free ones, or id=port,id=port',
      portChoice,
      { base: 5301 } satisfies PortChoice,
    )
    .option('--faults <file>', 'script of faults, one JSON order per line')
    .option('--orders', 'take fault orders on standard input while it runs, one per line', false)
    .option('--json', 'print endpoints, bench and register entries as one line of JSON', false)
    .action(async (options: LabCommandOptions, command: Command) => {
      const script = options.faults === undefined ? [] : readScript(options.faults, command)
      // Listened for from the beginning: whoever reads the first line may already end it.
      const end = interrupted()
      const lab = await start(options, script, command)
      if (options.json) {
        const { endpoints, bench, paperwork } = lab
        console.log(JSON.stringify({ endpoints, bench, paperwork }))
      } else describe(lab, options)
      if (options.orders) takeOrders(lab)
      await end
      await lab.close()
      // Standard input may still be open; it must not keep the process alive.
      if (options.orders) process.stdin.destroy()
    })
}

async function start(options: LabCommandOptions, faults: FaultScript, command: Command): Promise<Lab> {
  if (options.cell !== undefined && options.scenario !== 'fixed-point') {
    command.error('error: --cell is for --scenario fixed-point', { exitCode: 2 })
  }
  const scenario = options.cell === undefined ? SCENARIOS[options.scenario] : fixedPoint(options.cell)
  const clock = options.speed === 1 ? new RealClock() : new ScaledClock(options.speed)
  const { seed } = options
  const bus = options.serial ? 'serial' : options.bus
  const ports = 'byId' in options.ports ? options.ports.byId : basePorts(options, bus, options.ports.base)
  const unknown = Object.keys(ports).find((id) => !scenario.instruments.some((design) => design.id === id))
  if (unknown !== undefined) {
    const known = scenario.instruments.map(({ id }) => id).join(', ')
    command.error(`error: --ports names ${unknown}; the scenario ${scenario.name} has ${known}`, {
      exitCode: 2,
    })
  }
  try {
    const busPorts = await choosePorts(options, command.getOptionValueSource('ports') === 'default')
    return await startLab({ seed, clock, scenario, ports, bus, busPorts, faults, hostile: options.hostile })
  } catch (fault) {
    if (fault instanceof FaultError)
      return command.error(`error: ${options.faults}: ${fault.message}`, { exitCode: 2 })
    if (fault instanceof Error && 'code' in fault && fault.code === 'EADDRINUSE') {
      return command.error(`error: ${fault.message}; choose other ports with --ports, e.g. --ports 0`, {
        exitCode: 2,
      })
    }
    throw fault
  }
}

/** Behind serial cables the TCP ports are nobody's business: any free ones do. */
function basePorts({ scenario }: LabCommandOptions, bus: LabBus, base: number): Record<string, number> {
  return base === 0 || bus === 'serial' || bus === 'modbus-rtu' ? {} : portsFrom(base, SCENARIOS[scenario])
}

/** HiSLIP and the port mapper answer where plain clients look for them, unless other ports are asked for. */
async function choosePorts(
  { bus, ports, portmapper }: LabCommandOptions,
  isDefault: boolean,
): Promise<BusPorts> {
  const hislip = isDefault ? HISLIP_PORT : 'base' in ports ? ports.base : 0
  const usbip = isDefault ? USBIP_PORT : 'base' in ports ? ports.base : 0
  if (bus !== 'vxi-11' && bus !== 'mixed') return { hislip, usbip }
  return {
    hislip,
    usbip: usbip === hislip ? 0 : usbip,
    portmapper: portmapper ?? ((await isFree(PORTMAP.port)) ? PORTMAP.port : 0),
  }
}

/** Whether this program may listen on a port of loopback now. */
function isFree(port: number): Promise<boolean> {
  const server = createServer()
  return new Promise((resolve) => {
    server.once('error', () => resolve(false))
    server.listen(port, '127.0.0.1', () => server.close(() => resolve(true)))
  })
}

function readScript(path: string, command: Command): FaultScript {
  try {
    return parseFaultScript(readFileSync(path, 'utf8'))
  } catch (fault) {
    const reason = fault instanceof Error ? fault.message : String(fault)
    return command.error(`error: --faults ${path}: ${reason}`, { exitCode: 2 })
  }
}

/** Orders typed or piped in while the lab runs; each is answered in one line. */
function takeOrders(lab: Lab): void {
  createInterface(process.stdin).on('line', (line) => {
    try {
      for (const order of parseFaultScript(line)) {
        lab.fault(order)
        console.log(`ordered: ${order.kind} of ${order.instrument}`)
      }
    } catch (fault) {
      if (!(fault instanceof FaultError)) throw fault
      console.log(`refused: ${fault.message.replace(/^line 1: /, '')}`)
    }
  })
}

function describe(lab: Lab, { scenario, seed, speed }: LabCommandOptions): void {
  console.log(`Lab in a box: ${lab.bench.name} (scenario ${scenario}, seed ${seed}, speed ${speed})`)
  const width = Math.max(...lab.endpoints.map(({ id }) => id.length))
  for (const { id, role, profile, link } of lab.endpoints) {
    const where = `${LINK_KIND_WORDS[link.kind]} ${linkWords(link)}`
    console.log(
      `  ${id.padEnd(width)}  ${profile.padEnd(10)}  ${role.padEnd(12)}  ${where}  ${resourceOf(link) ?? ''}`.trimEnd(),
    )
  }
  const mapped = lab.endpoints.find(({ link }) => link.kind === 'vxi-11')?.link
  if (mapped?.kind === 'vxi-11' && mapped.portmapper !== undefined) {
    console.log(
      `The port mapper is at port ${mapped.portmapper}, since 111 was not to be had: clients that cannot be told so do not find it.`,
    )
  }
  console.log('Ctrl-C ends it.')
}

function interrupted(): Promise<void> {
  return new Promise((resolve) => {
    process.once('SIGINT', resolve)
    process.once('SIGTERM', resolve)
  })
}

function wholeNumber(text: string): number {
  if (!/^\d{1,9}$/.test(text)) throw new InvalidArgumentError('a whole number is wanted, e.g. 7')
  return Number(text)
}

function positiveNumber(text: string): number {
  const value = Number(text)
  if (!(value > 0 && value <= 1e4))
    throw new InvalidArgumentError('a number above 0 and up to 10000 is wanted')
  return value
}

function portNumber(text: string): number {
  const port = /^\d{1,5}$/.test(text) ? Number(text) : Number.NaN
  if (!(port >= 0 && port <= 65_000)) throw new InvalidArgumentError(`${text} is no port from 0 to 65000`)
  return port
}

function portChoice(text: string): PortChoice {
  if (!text.includes('=')) return { base: portNumber(text) }
  const pairs = text.split(',').map((pair) => {
    const [id, port] = pair.split('=')
    if (!id || port === undefined)
      throw new InvalidArgumentError('id=port pairs are wanted, e.g. bridge=6001,bath=6002')
    return [id, portNumber(port)] as const
  })
  return { byId: Object.fromEntries(pairs) }
}
