import { userInfo } from 'node:os'
import { Command } from 'commander'
import { type Person, RIGHT_WORDS, RIGHTS, Right } from '../../../app/records/person.ts'
import type { StationStore } from '../../store/station-store.ts'
import { askPassword, openExistingStore } from '../../study/person-act.ts'
import { defaultDataFolder } from '../data-folder.ts'
import { WrongOption } from '../options.ts'
import { PeopleDesk } from '../people/people-desk.ts'

const HELP = `For the first person, and for a password that nobody remembers: whoever may start programs on the station's own computer
may do this, and the ledger says that it was done here. The station must not be running; while it runs, people are seen to
in Settings.

Rights: ${RIGHTS.map((right) => `${right} (${RIGHT_WORDS[right]})`).join(', ')}.
A password is asked for, or taken from STILLPOINT_NEW_PASSWORD. Who leaves is closed, never removed: records name people.`

interface Given {
  data: string
  why: string
}

/** `stillpoint people`: who works at a station. */
export function peopleCommand(): Command {
  const command = new Command('people').description(
    'who works here: list, add, change rights or password, close',
  )
  const part = (usage: string, words: string) =>
    command
      .command(usage)
      .description(words)
      .option('--data <folder>', 'data folder of the station', defaultDataFolder())
      .option('--why <text>', 'reason, kept in the ledger', '')
  part('list', 'list everybody who is or was here').action(({ data }: Given) =>
    withStore(data, 'read', (store) => {
      for (const person of store.people.all()) console.log(lineOf(person))
      return Promise.resolve()
    }),
  )
  part('add <name>', 'enter a person')
    .option('--rights <right...>', 'what the person may do', [...RIGHTS])
    .action((name: string, given: Given & { rights: string[] }) =>
      change(given, async () => ({
        name,
        rights: rightsOf(given.rights),
        password: await newPassword(name),
      })),
    )
  part('rights <name> [right...]', 'set what a person may do').action(
    (name: string, rights: string[], given: Given) =>
      change(given, (store) => Promise.resolve({ ...known(store, name), rights: rightsOf(rights) })),
  )
  part('password <name>', 'give a person a new password').action((name: string, given: Given) =>
    change(given, async (store) => ({ ...known(store, name), password: await newPassword(name) })),
  )
  part('close <name>', 'end what a person may do here').action((name: string, given: Given) =>
    change(given, (store) => Promise.resolve({ ...known(store, name), closed: true })),
  )
  return command.addHelpText('after', `\n${HELP}`)
}

interface Wanted {
  id?: string
  name: string
  rights: Right[]
  position?: string | undefined
  closed?: boolean
  password?: string
}

async function change({ data, why }: Given, wanted: (store: StationStore) => Promise<Wanted>): Promise<void> {
  await withStore(data, 'write', async (store) => {
    const desk = new PeopleDesk(store)
    const { id, name, rights, position, closed = false, password } = await wanted(store)
    const who = `${userInfo().username} at the station's own computer`
    console.log(lineOf(await desk.save({ id, name, rights, position, closed }, password, { who, why })))
  })
}

async function withStore(
  folder: string,
  mode: 'read' | 'write',
  act: (store: StationStore) => Promise<void>,
): Promise<void> {
  const store = openExistingStore(folder, mode)
  try {
    await act(store)
  } finally {
    store.close()
  }
}

function known(store: StationStore, name: string): Wanted {
  const person = store.people.named(name)
  if (!person)
    throw new WrongOption(`There is no person named ${name}. "stillpoint people list" tells who there is.`)
  const { id, rights, position, closed } = person
  return { id, name: person.name, rights, position, closed: closed !== undefined }
}

function rightsOf(words: readonly string[]): Right[] {
  return words.map((word) => {
    const right = Right.safeParse(word)
    if (!right.success) throw new WrongOption(`There is no right "${word}": ${RIGHTS.join(', ')}.`)
    return right.data
  })
}

async function newPassword(name: string): Promise<string> {
  const given = process.env.STILLPOINT_NEW_PASSWORD
  if (given !== undefined) return given
  if (process.stdin.isTTY !== true)
    throw new WrongOption('Nobody can be asked for the password here. Give it in STILLPOINT_NEW_PASSWORD.')
  const first = await askPassword(`${name}, new`)
  if (first !== (await askPassword(`${name}, once more`)))
    throw new WrongOption('The two are not the same. Nothing was changed.')
  return first
}

function lineOf({ name, rights, closed, practice }: Person): string {
  const may = rights.length === 0 ? 'may only look' : rights.join(', ')
  const notes = [closed && `closed ${closed}`, practice && 'practice'].filter(Boolean).join(', ')
  return `${name}: ${may}${notes ? ` (${notes})` : ''}`
}
