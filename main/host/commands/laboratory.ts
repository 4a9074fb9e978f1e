import { Command } from 'commander'
import { openExistingStore, personAct } from '../../study/person-act.ts'

const HELP = `Each data folder is one station under an identity of its own. Where the laboratory's database says that two folders work under one,
exactly one of these is right: the copy gets a new identity, or the one folder that is left (the other is gone, or this one was taken
back from a backup) goes on under it. End the station first.`

interface Options {
  data: string
  who?: string
}

/** `stillpoint laboratory new-identity` and `take-identity`: ways out where two folders are one station. */
export function laboratoryCommand(): Command {
  const command = new Command('laboratory')
    .description('say which of two data folders is the station')
    .addHelpText('after', `\n${HELP}`)
  const act = (name: string, about: string, what: 'renewIdentity' | 'takeIdentity', done: string) =>
    command
      .command(name)
      .description(about)
      .requiredOption('--data <folder>', 'data folder of the station')
      .option('--who <name>', 'your name, as the station knows it')
      .action(async ({ data, who }: Options) => {
        const store = openExistingStore(data, 'write')
        try {
          const by = await personAct(store, 'administer', {
            ...{ who, why: about, canAsk: process.stdin.isTTY === true },
          })
          store[what](by)
          console.log(done)
        } finally {
          store.close()
        }
      })
  act(
    'new-identity',
    'this folder is a copy and becomes a station of its own',
    'renewIdentity',
    'This folder is a station of its own now. Give its bench another name in the settings.',
  )
  act(
    'take-identity',
    'the other folder is gone, and this one goes on under the identity',
    'takeIdentity',
    'This folder goes on as the station. Certificate numbers that were kept for it are not given any more.',
  )
  return command
}
