import { readFile } from 'node:fs/promises'
import { Command, InvalidArgumentError } from 'commander'
import { at } from '../../../app/base/lists.ts'
import { HISLIP_PORT } from '../../../app/buses/hislip.ts'
import { MODBUS_PORT } from '../../../app/buses/modbus.ts'
import type { LinkSpec } from '../../../app/records/bench.ts'
import {
  type Attempt,
  checkProfile,
  type Driver,
  findVisa,
  loadProfiles,
  replayTranscript,
  tellProblem,
  tryProfile,
} from '../../../drivers/index.ts'
import { RealClock } from '../../station/clocks/real.ts'
import { VirtualClock } from '../../station/clocks/virtual.ts'

const HELP = `A profile is a JSON file that describes how to talk to one make of instrument; docs/profiles.md explains every word.

new   asks about an instrument, one question after the other, and writes a profile of what was answered.
check reads FILE, says which line is wrong where it is, and plays its transcript against the driver.
try   opens the instrument, asks all that only reads, and with --settings also changes inputs, currents and averaging.
      It never switches heat. A bath's setpoint is only set to what it is already.

FILE may also be the id of a profile that ships with the program. The exit status is 0 when all worked, 1 when not.

Cautions: try --settings moves relays and measuring currents. Make sure that nobody else works on the instrument, and
that a bath can do no harm; keep to the rules of your place.`

export function profileCommand(): Command {
  const command = new Command('profile').description(
    'make a profile, check it, or try it against its instrument',
  )
  command.addHelpText('after', `\n${HELP}`)
  command
    .command('check')
    .description('check one profile and replay its transcript')
    .argument('<file>', 'profile file, or the id of one that ships')
    .action(async (file: string) => {
      process.exitCode = (await check(file)) ? 0 : 1
    })
  command
    .command('new')
    .description('ask step by step and write a profile')
    .argument('[file]', 'file to write; left out: the profile’s short name and .json')
    .action(async (file: string | undefined) => {
      const { newProfile } = await import('./profile-new.ts')
      process.exitCode = (await newProfile(file, (text) => void process.stdout.write(text))) ? 0 : 1
    })
  command
    .command('try')
    .description('try a profile against the real instrument')
    .argument('<file>', 'profile file, or the id of one that ships')
    .requiredOption('--link <link>', LINK_FORMS, parseLink)
    .option('--settings', 'also try what changes settings', false)
    .option('--traffic', 'show every line sent and received', false)
    .action(async (file: string, options: { link: LinkSpec; settings: boolean; traffic: boolean }) => {
      process.exitCode = (await attempt(file, options)) ? 0 : 1
    })
  command
    .command('resources')
    .description('list the instruments that the VISA library of this computer knows')
    .argument('[library]', 'file of the library, where it has an unusual name')
    .action(async (library: string | undefined) => {
      try {
        const names = await findVisa(new RealClock(), library)
        for (const name of names) say(name)
        if (names.length === 0) say('The VISA library knows no instruments.')
      } catch (fault) {
        say((fault as Error).message)
        process.exitCode = 1
      }
    })
  return command
}

const LINK_FORMS =
  'tcp:HOST:PORT, serial:PATH[:BAUD], hislip:HOST[:PORT]/DEVICE, vxi-11:HOST/DEVICE, usbtmc:VENDOR:PRODUCT[:SERIAL][@HOST:PORT], visa:RESOURCE, modbus-tcp:HOST[:PORT]/UNIT or modbus-rtu:PATH[:BAUD]#UNIT'

/** Reads a link in one of the forms above. */
export function parseLink(text: string): LinkSpec {
  const tcp = /^tcp:(.+):(\d{1,5})$/.exec(text)
  if (tcp !== null) return { kind: 'tcp', host: hostOf(at(tcp, 1)), port: portOf(at(tcp, 2)) }
  const hislip = /^hislip:(\[.+\]|[^/:]+)(?::(\d{1,5}))?\/(\w+)$/.exec(text)
  if (hislip !== null) {
    const port = hislip[2] === undefined ? HISLIP_PORT : portOf(hislip[2])
    return { kind: 'hislip', host: hostOf(at(hislip, 1)), port, device: at(hislip, 3) }
  }
  const vxi11 = /^vxi-11:(\[.+\]|[^/:]+)(?::(\d{1,5}))?\/([\w,]+)$/.exec(text)
  if (vxi11 !== null) {
    const portmapper = vxi11[2] === undefined ? {} : { portmapper: portOf(vxi11[2]) }
    return { kind: 'vxi-11', host: hostOf(at(vxi11, 1)), device: at(vxi11, 3), ...portmapper }
  }
  const usb = /^usbtmc:([0-9a-f]{1,4}):([0-9a-f]{1,4})(?::([^@]+))?(?:@(.+):(\d{1,5}))?$/i.exec(text)
  if (usb !== null) {
    const [vendor = 0, product = 0] = [usb[1], usb[2]].map((id) => Number.parseInt(id ?? '', 16))
    const serial = usb[3] === undefined ? {} : { serial: usb[3] }
    const sharedBy =
      usb[4] === undefined ? {} : { sharedBy: { host: hostOf(usb[4]), port: portOf(at(usb, 5)) } }
    return { kind: 'usbtmc', vendor, product, ...serial, ...sharedBy }
  }
  const visa = /^visa:(.+)$/.exec(text)
  if (visa !== null) return { kind: 'visa', resource: at(visa, 1) }
  const modbus = /^modbus-tcp:(\[.+\]|[^/:]+)(?::(\d{1,5}))?\/(\d{1,3})$/.exec(text)
  if (modbus !== null) {
    const port = modbus[2] === undefined ? MODBUS_PORT : portOf(modbus[2])
    return { kind: 'modbus-tcp', host: hostOf(at(modbus, 1)), port, unit: unitOf(at(modbus, 3)) }
  }
  const rtu = /^modbus-rtu:(.+?)(?::(\d+))?#(\d{1,3})$/.exec(text)
  if (rtu !== null) {
    const baud = rtu[2] === undefined ? {} : { baud: Number(rtu[2]) }
    return { kind: 'modbus-rtu', path: at(rtu, 1), unit: unitOf(at(rtu, 3)), ...baud }
  }
  const serial = /^serial:(.+?)(?::(\d+))?$/.exec(text)
  if (serial === null) throw new InvalidArgumentError(`write ${LINK_FORMS}.`)
  return {
    kind: 'serial',
    path: at(serial, 1),
    ...(serial[2] === undefined ? {} : { baud: Number(serial[2]) }),
  }
}

const hostOf = (text: string): string => text.replace(/^\[(.*)\]$/, '$1')

function unitOf(text: string): number {
  const unit = Number(text)
  if (unit < 1 || unit > 247) throw new InvalidArgumentError(`${unit} is not a unit number (1 to 247).`)
  return unit
}

function portOf(text: string): number {
  const port = Number(text)
  if (port < 1 || port > 65535) throw new InvalidArgumentError(`${port} is not a port number (1 to 65535).`)
  return port
}

async function check(file: string): Promise<boolean> {
  const driver = await readDriver(file)
  if (driver === undefined) return false
  const { profile } = driver
  const clock = new VirtualClock({ startUtcUs: 0 })
  const problems = await replayTranscript(driver, clock)
  clock.stop()
  for (const problem of problems) say(problem)
  const commands = Object.keys(profile.commands).length
  if (problems.length > 0) say(`${profile.id}: the transcript does not hold (${problems.length} differences)`)
  else if (profile.transcript.length === 0)
    say(`${profile.id}: reads well, ${commands} commands; it has no transcript to replay`)
  else
    say(`${profile.id}: good, ${commands} commands, ${profile.transcript.length} transcript parts replayed`)
  return problems.length === 0
}

async function attempt(
  file: string,
  options: { link: LinkSpec; settings: boolean; traffic: boolean },
): Promise<boolean> {
  const driver = await readDriver(file)
  if (driver === undefined) return false
  const attempts = await tryProfile({
    driver,
    link: options.link,
    clock: new RealClock(),
    settings: options.settings,
    onAttempt: (each) => say(tellAttempt(each)),
    ...(options.traffic ? { onTraffic: (line) => say(`    ${SIGNS[line.direction]} ${line.text}`) } : {}),
  })
  const count = (outcome: Attempt['outcome']) => attempts.filter((each) => each.outcome === outcome).length
  say(
    `${count('worked')} worked, ${count('no value')} answered without a value, ${count('failed')} failed, ${count('skipped')} skipped`,
  )
  return count('failed') === 0
}

const SIGNS = { sent: '>', received: '<', note: '-' } as const

function tellAttempt(each: Attempt): string {
  return `${each.outcome.padEnd(8)}${each.what}: ${each.words}`
}

async function readDriver(file: string): Promise<Driver | undefined> {
  if (!file.endsWith('.json')) {
    const library = await loadProfiles()
    const shipped = library.profiles.get(file)
    if (shipped === undefined)
      say(`There is no profile "${file}"; those that ship: ${[...library.profiles.keys()].sort().join(', ')}`)
    return shipped
  }
  let text: string
  try {
    text = await readFile(file, 'utf8')
  } catch (error) {
    say(`${file}: cannot be read: ${(error as Error).message}`)
    return undefined
  }
  const checked = checkProfile(text, file)
  if (checked.ok) return { profile: checked.profile, source: file, text }
  for (const problem of checked.problems) say(tellProblem(problem))
  return undefined
}

function say(line: string): void {
  process.stdout.write(`${line}\n`)
}
