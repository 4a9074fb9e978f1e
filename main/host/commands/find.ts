import { Command, InvalidArgumentError } from 'commander'
import { z } from 'zod'
import { LINK_KIND_WORDS, linkWords } from '../../../app/records/link-words.ts'
import { askWho, listSerialPorts, loadProfiles, lookAround, type Sighting } from '../../../drivers/index.ts'
import { RealClock } from '../../station/clocks/real.ts'
import { profileFor } from '../find-instruments.ts'

const HELP = `Looks for instruments: USB devices of the class for instruments, those that announce themselves on the network (mDNS:
_lxi, _hislip, _vxi-11, _scpi-raw), those with VXI-11 on the networks named by --network, and lists the serial ports.
No instrument is spoken to, unless --ask is given: then each is asked *IDN? once, and matched to a profile.

Caution: asking disturbs an instrument that another program is talking to. Ask only where nobody measures.`

interface Options {
  readonly announced: boolean
  readonly network: readonly string[]
  readonly portmapper?: number
  readonly interface?: string
  readonly mdnsPort?: number
  readonly seconds: number
  readonly ask: boolean
  readonly profiles?: string
}

export function findCommand(): Command {
  const several = (text: string, before: readonly string[]) => [...before, addressOf(text)]
  return new Command('find')
    .description('look for instruments around, and ask who they are')
    .option(
      '--network <address>',
      'broadcast address of a network to ask for VXI-11; may be repeated',
      several,
      [],
    )
    .option('--no-announced', 'do not listen for those that announce themselves')
    .option('--portmapper <port>', 'port of the port mappers of VXI-11, where it is not 111', numberOf)
    .option('--interface <address>', 'listen through the network interface with this address only', addressOf)
    .option('--mdns-port <port>', 'UDP port of mDNS, where it is not 5353', numberOf)
    .option('--seconds <seconds>', 'how long answers are waited for', numberOf, 3)
    .option('--ask', 'ask each instrument found who it is', false)
    .option('--profiles <folder>', 'folder of your own profiles')
    .addHelpText('after', `\n${HELP}`)
    .action(async (options: Options) => {
      await find(options)
    })
}

async function find(options: Options): Promise<void> {
  const clock = new RealClock()
  const sightings = await lookAround({
    clock,
    ms: options.seconds * 1000,
    announced: options.announced,
    networks: options.network,
    portmapper: options.portmapper,
    place: {
      ...(options.interface !== undefined && { interface: options.interface }),
      ...(options.mdnsPort !== undefined && { port: options.mdnsPort }),
    },
  })
  const library = options.ask
    ? await loadProfiles(options.profiles === undefined ? {} : { userFolder: options.profiles })
    : undefined
  for (const sighting of sightings) {
    say(tell(sighting))
    if (library === undefined) continue
    const identity = await askWho(sighting.link, clock)
    if (identity === undefined) say('    does not say who it is')
    else say(`    ${identity}: ${profileFor(identity, library) ?? 'no profile knows it'}`)
  }
  if (sightings.length === 0) say('No instrument was noticed.')
  for (const port of await listSerialPorts()) {
    say(`Serial port ${port.path}${port.maker === undefined ? '' : `, ${port.maker}`}`)
  }
}

function tell({ link, name, told }: Sighting): string {
  const words = [name, told].filter((part) => part !== '').join(', ')
  return `${LINK_KIND_WORDS[link.kind]} ${linkWords(link)}${words === '' ? '' : `: ${words}`}`
}

function addressOf(text: string): string {
  if (!z.ipv4().safeParse(text).success)
    throw new InvalidArgumentError('write an address such as 192.0.2.255.')
  return text
}

function numberOf(text: string): number {
  const number = Number(text)
  if (!(number > 0 && number <= 65_535))
    throw new InvalidArgumentError('write a number above 0, at most 65535.')
  return number
}

function say(line: string): void {
  process.stdout.write(`${line}\n`)
}
