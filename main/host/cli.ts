import { Command, CommanderError } from 'commander'
import packageJson from '../../package.json' with { type: 'json' }
import { WrongOption } from './options.ts'

/** Commands load only when called, so that `convert` in a pipe does not wait for the station. */
const COMMANDS: Record<string, { summary: string; load: () => Promise<Command> }> = {
  demo: {
    summary: 'run the main job on the lab in a box and write the results',
    load: async () => (await import('./commands/demo.ts')).demoCommand(),
  },
  station: {
    summary: 'run the station core and its page, without a screen',
    load: async () => (await import('./commands/station.ts')).stationCommand(),
  },
  stop: {
    summary: 'end a running station in order, from any window',
    load: async () => (await import('./commands/stop.ts')).stopCommand(),
  },
  backup: {
    summary: 'copy a station whole into a backup folder, and verify it',
    load: async () => (await import('./commands/backup.ts')).backupCommand(),
  },
  restore: {
    summary: 'make a new data folder of a backup',
    load: async () => (await import('./commands/restore.ts')).restoreCommand(),
  },
  bundle: {
    summary: 'write the support bundle of a station, also of one that does not start',
    load: async () => (await import('./commands/bundle.ts')).bundleCommand(),
  },
  service: {
    summary: 'let the station start with the computer, without anybody logging in',
    load: async () => (await import('./commands/service.ts')).serviceCommand(),
  },
  desktop: {
    summary: 'open the desktop program, or the page where it cannot be had',
    load: async () => (await import('./commands/desktop.ts')).desktopCommand(),
  },
  run: {
    summary: 'run a plan unattended; the exit status tells how it ended',
    load: async () => (await import('./commands/run.ts')).runCommand(),
  },
  foretell: {
    summary: 'say what a plan will take and which uncertainties it will have, before it is run',
    load: async () => (await import('./commands/foretell.ts')).foretellCommand(),
  },
  practice: {
    summary: 'open a station to practise on, with a clock of its own',
    load: async () => (await import('./commands/practice.ts')).practiceCommand(),
  },
  lab: {
    summary: 'run the lab in a box alone',
    load: async () => (await import('./commands/lab.ts')).labCommand(),
  },
  convert: {
    summary: 'convert ratios, resistances, voltages and temperatures',
    load: async () => (await import('./commands/convert.ts')).convertCommand(),
  },
  describe: {
    summary: 'statistics of series of values',
    load: async () => (await import('./commands/describe.ts')).describeCommand(),
  },
  fit: {
    summary: 'least-squares fits, plain and of thermometers',
    load: async () => (await import('./commands/fit.ts')).fitCommand(),
  },
  budget: {
    summary: 'uncertainty budgets by JCGM 100 and JCGM 101',
    load: async () => (await import('./commands/budget.ts')).budgetCommand(),
  },
  check: {
    summary: 'checks of bridges and resistors, and fixed-point work',
    load: async () => (await import('./commands/check.ts')).checkCommand(),
  },
  sessions: {
    summary: 'list the sessions of a station',
    load: async () => (await import('./commands/sessions.ts')).sessionsCommand(),
  },
  export: {
    summary: 'write the readings of a session to a file',
    load: async () => (await import('./commands/export.ts')).exportCommand(),
  },
  import: {
    summary: 'make a session of a CSV file recorded elsewhere',
    load: async () => (await import('./commands/import.ts')).importCommand(),
  },
  replay: {
    summary: 'run a session through its chains again and compare old and new results',
    load: async () => (await import('./commands/replay.ts')).replayCommand(),
  },
  amend: {
    summary: 'take corrected calibrations into an ended session',
    load: async () => (await import('./commands/amend.ts')).amendCommand(),
  },
  verify: {
    summary: 'walk the hash chain of a session and name the first break',
    load: async () => (await import('./commands/verify.ts')).verifyCommand(),
  },
  prove: {
    summary: 'compute the report again from a session file alone and compare digit by digit',
    load: async () => (await import('./commands/prove.ts')).proveCommand(),
  },
  validate: {
    summary: 'check the installed program against published figures and a night of known truth',
    load: async () => (await import('./commands/validate.ts')).validateCommand(),
  },
  certificate: {
    summary: 'write the certificate of fixed points, or of a resistor',
    load: async () => (await import('./commands/certificate.ts')).certificateCommand(),
  },
  deliver: {
    summary: 'write the certificates of a session, a folder for each customer',
    load: async () => (await import('./commands/deliver.ts')).deliverCommand(),
  },
  register: {
    summary: 'take digital certificates into the register',
    load: async () => (await import('./commands/register.ts')).registerCommand(),
  },
  key: {
    summary: 'take in the key with which certificates are signed',
    load: async () => (await import('./commands/key.ts')).keyCommand(),
  },
  laboratory: {
    summary: 'say which of two data folders is the station that both claim to be',
    load: async () => (await import('./commands/laboratory.ts')).laboratoryCommand(),
  },
  people: {
    summary: 'who works at a station: list, add, rights, passwords',
    load: async () => (await import('./commands/people.ts')).peopleCommand(),
  },
  find: {
    summary: 'look for instruments around, and ask who they are',
    load: async () => (await import('./commands/find.ts')).findCommand(),
  },
  profile: {
    summary: 'make a profile, check it, or try it against its instrument',
    load: async () => (await import('./commands/profile.ts')).profileCommand(),
  },
}

const program = new Command('stillpoint')
  .description('Instrument-acquisition station for a temperature calibration laboratory.')
  .version(packageJson.version)
  .helpCommand('help [command]', 'tell what a command takes')
  .exitOverride()
  .configureOutput({ outputError: (text, write) => write(text.replace(/^error: /, 'stillpoint: ')) })

const words = process.argv.slice(2).filter((argument) => !argument.startsWith('-'))
const wanted = words[0] === 'help' ? words[1] : words[0]
for (const [name, { summary, load }] of Object.entries(COMMANDS)) {
  const command = name === wanted ? await load() : new Command(name)
  program.addCommand(adopt(command.description(summary), program))
}
program.action(() => program.outputHelp())

/** Every command, however deep, tells its errors as the program does. */
function adopt(command: Command, parent: Command): Command {
  command.exitOverride().copyInheritedSettings(parent)
  for (const child of command.commands) adopt(child, command)
  return command
}

// A reader that has seen enough, such as head, is no fault.
process.stdout.on('error', (fault: NodeJS.ErrnoException) => {
  if (fault.code !== 'EPIPE') throw fault
  process.exit()
})

try {
  if (wanted !== undefined && !Object.hasOwn(COMMANDS, wanted)) {
    program.error(`error: there is no command "${wanted}"; --help lists them.`, { exitCode: 2 })
  }
  await program.parseAsync()
} catch (fault) {
  if (fault instanceof CommanderError) process.exitCode = fault.exitCode === 0 ? 0 : 2
  else {
    console.error(`stillpoint: ${fault instanceof Error ? fault.message : String(fault)}`)
    process.exitCode = fault instanceof WrongOption ? 2 : 1
  }
}
