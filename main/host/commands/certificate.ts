import { mkdir } from 'node:fs/promises'
import { join, resolve } from 'node:path'
import { Command, Option } from 'commander'
import { writeWhole } from '../../store/write-whole.ts'
import { openExistingStore } from '../../study/person-act.ts'
import { registerFile } from '../sign-register-work.ts'
import { reportsFor } from './deliver.ts'

const HELP = `The certificate of a calibration at fixed points, or of a resistor's comparison with a better one: PDF and digital certificate (XML), a
draft until it is signed in the window, then as it was signed. The newest calibration or comparison unless --entry names another.`

interface Options {
  data: string
  out: string
  entry?: string
}

/** `stillpoint certificate fixed-points|resistor ID`: the certificate of work that stands in the register. */
export function certificateCommand(): Command {
  const command = new Command('certificate')
    .description('write the certificate of fixed points, or of a resistor')
    .addHelpText('after', `\n${HELP}`)
  for (const [kind, what] of [
    ['fixed-points', 'thermometer'],
    ['resistor', 'resistor'],
  ] as const) {
    command
      .command(kind)
      .description(`of a ${what} of the register`)
      .argument('<id>', `register id of the ${what}`)
      .requiredOption('--data <folder>', 'data folder of the station')
      .requiredOption('--out <folder>', 'where the files go')
      .addOption(new Option('--entry <id>', 'id of the calibration or comparison'))
      .action(async (id: string, { data, out, entry }: Options) => {
        const store = openExistingStore(data, 'read')
        const reports = reportsFor(store)
        try {
          const folder = resolve(out)
          await mkdir(folder, { recursive: true })
          const paper = store.settings()?.paper ?? 'A4'
          for (const format of ['pdf', 'xml'] as const) {
            const { name, data: bytes } = await registerFile(
              { store, reports, paper },
              { kind, id, entry },
              format,
            )
            await writeWhole(join(folder, name), (append) => append(bytes))
            console.log(join(folder, name))
          }
        } finally {
          await reports.close()
          store.close()
        }
      })
  }
  return command
}
