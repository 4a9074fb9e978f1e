import { readFileSync } from 'node:fs'
import { Command } from 'commander'
import { RealClock } from '../../station/clocks/real.ts'
import { askPassword, openExistingStore, personAct } from '../../study/person-act.ts'
import { makeTrialAuthority, writeKey } from '../../study/signing/trial-authority.ts'
import { KEY_PASSWORD_VARIABLE, SigningDesk } from '../signing-desk.ts'

const HELP = `The key signs certificates: PDF, digital certificate, results.json and the head of the session. It lies in the data folder, encrypted
with its own password, which is asked for at every sign-off, or taken from ${KEY_PASSWORD_VARIABLE}, and kept nowhere. "trial" makes a key
with an authority of its own: for trying out, never for certificates that leave the laboratory. Your password is asked
for, or taken from STILLPOINT_PASSWORD.`

interface Options {
  data: string
  who?: string
}

async function passwordOfKey(): Promise<string> {
  const given = process.env[KEY_PASSWORD_VARIABLE]
  if (given) return given
  if (process.stdin.isTTY !== true)
    throw new Error(`There is no terminal to ask for the password of the key. Set ${KEY_PASSWORD_VARIABLE}.`)
  return askPassword('the key')
}

/** `stillpoint key import FILE` and `stillpoint key trial`: the key with which certificates are signed. */
export function keyCommand(): Command {
  const command = new Command('key')
    .description('take in the key with which certificates are signed')
    .addHelpText('after', `\n${HELP}`)
  const take = async (
    { data, who }: Options,
    make: (password: string, name: string) => Promise<{ bytes: Uint8Array; words?: string }>,
  ) => {
    const store = openExistingStore(data, 'write')
    try {
      const act = await personAct(store, 'administer', {
        who,
        why: 'signing key',
        canAsk: process.stdin.isTTY === true,
      })
      const password = await passwordOfKey()
      const { bytes, words } = await make(password, act.who)
      const desk = new SigningDesk(store, new RealClock())
      console.log(`The key of ${await desk.take(bytes, password, act.who)} is taken in.`)
      if (words) console.log(words)
    } finally {
      store.close()
    }
  }
  command
    .command('import')
    .description('a PKCS#12 file (.p12, .pfx) with key and certificate')
    .argument('<file>', 'key file')
    .requiredOption('--data <folder>', 'data folder of the station')
    .option('--who <name>', 'your name, as the station knows it')
    .action((file: string, options: Options) => take(options, async () => ({ bytes: readFileSync(file) })))
  command
    .command('trial')
    .description('a key made here, for trials; prints the root to give to whoever verifies')
    .requiredOption('--data <folder>', 'data folder of the station')
    .option('--who <name>', 'your name, as the station knows it')
    .action((options: Options) =>
      take(options, async (password, who) => {
        const authority = await makeTrialAuthority(who, 'Stillpoint', new RealClock().now().utcUs)
        return { bytes: await writeKey(authority.signer, password), words: authority.rootPem }
      }),
    )
  return command
}
