import { readFileSync } from 'node:fs'
import { Command } from 'commander'
import { RealClock } from '../../station/clocks/real.ts'
import { type LookedAt, lookAtCertificate } from '../../study/look-at-certificate.ts'
import { openExistingStore, personAct } from '../../study/person-act.ts'
import { takeCertificate } from '../take-certificate.ts'

const HELP = `Reads a Digital Calibration Certificate (XML, schema 3.1 to 3.3) of a thermometer or a resistor. Every value is shown with the line
it stands on, and what could not be read is named. Its signature is checked against the roots in keys/roots/*.pem of the data
folder. The calibration goes to the entry with the certificate's serial number, or to the one named with --to; the file is kept
with it. Your password is asked for, or taken from STILLPOINT_PASSWORD. With --look nothing is written.`

interface Options {
  data: string
  to?: string
  who?: string
  why?: string
  look: boolean
}

/** What was read, line by line. */
export function readingLines({ reading, signature }: LookedAt): string[] {
  const { values, unread, schemaVersion } = reading
  return [
    `Digital Calibration Certificate, schema ${schemaVersion}. ${signature}`,
    ...values.map(({ name, value, unit, place }) => `  ${name}: ${value}${unit && ` ${unit}`} (${place})`),
    ...unread.map((words) => `  not read: ${words}`),
  ]
}

/** `stillpoint register import CERT.xml`: a digital certificate into the register, without typing. */
export function registerCommand(): Command {
  const command = new Command('register').description('take digital certificates into the register')
  command
    .command('import')
    .argument('<file>', 'certificate, XML')
    .requiredOption('--data <folder>', 'data folder of the station')
    .option(
      '--to <id>',
      'entry of the register; the one with the serial number of the certificate unless told',
    )
    .option('--who <name>', 'your name, as the station knows it')
    .option('--why <text>', 'reason, kept in the ledger')
    .option('--look', 'show what it says and write nothing', false)
    .description('read a Digital Calibration Certificate of a thermometer or a resistor')
    .addHelpText('after', `\n${HELP}`)
    .action(async (file: string, { data, to, who, why, look }: Options) => {
      const store = openExistingStore(data, look ? 'read' : 'write')
      try {
        const bytes = readFileSync(file)
        const looked = await lookAtCertificate(store.folder, bytes, new RealClock().now().utcUs)
        console.log(readingLines(looked).join('\n'))
        if (look) return
        const act = await personAct(store, 'keep-records', { who, why, canAsk: process.stdin.isTTY === true })
        console.log(await takeCertificate(store, bytes, looked, to, act))
      } finally {
        store.close()
      }
    })
  return command
}
