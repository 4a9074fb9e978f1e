import { spawnSync } from 'node:child_process'
import { mkdirSync, rmSync } from 'node:fs'
import { homedir, userInfo } from 'node:os'
import { dirname, join, resolve } from 'node:path'
import { Command } from 'commander'
import { writeThenRename } from '../../store/export/file.ts'
import { defaultDataFolder } from '../data-folder.ts'
import { port } from '../options.ts'
import { type ServiceDefinition, serviceFor } from '../service/definitions.ts'

interface ServiceOptions {
  data: string
  user: string
  port: number
  dryRun: boolean
}

const HELP = `Linux: a unit of systemd; macOS: a daemon of launchd; Windows: a task that starts at boot. Installing needs the rights
of an administrator; --dry-run shows the file and the commands and changes nothing. An open session is taken up again at
each start, with its gap marked.`

export function serviceCommand(): Command {
  const command = new Command('service').addHelpText('after', `\n${HELP}`)
  for (const act of ['install', 'remove'] as const) {
    command
      .command(act)
      .description(act === 'install' ? 'start the station with the computer' : 'no longer start it')
      .option('--data <folder>', 'where the station keeps its records', defaultDataFolder())
      .option('--user <name>', 'who the station runs as', userInfo().username)
      .option('--port <n>', 'port of the page', port, 8120)
      .option('--dry-run', 'show what would be done', false)
      .action((options: ServiceOptions) => {
        const definition = serviceFor(process.platform, {
          user: options.user,
          home: homedir(),
          data: resolve(options.data),
          port: options.port,
          program: [process.execPath, join(import.meta.dirname, '../cli.ts')],
        })
        if (!definition) throw new Error(`Starting with the computer is not known for ${process.platform}.`)
        if (options.dryRun) show(definition, act)
        else if (act === 'install') install(definition, resolve(options.data))
        else remove(definition)
      })
  }
  return command
}

function show(definition: ServiceDefinition, act: 'install' | 'remove'): void {
  if (act === 'install') console.log(`# ${definition.file}\n${definition.text}`)
  for (const words of definition[act]) console.log(`> ${words.join(' ')}`)
  if (act === 'remove') console.log(`# ${definition.file} would be removed`)
  else console.log(`# ${definition.words}`)
}

function install(definition: ServiceDefinition, data: string): void {
  mkdirSync(data, { recursive: true, mode: 0o700 })
  mkdirSync(dirname(definition.file), { recursive: true })
  // The task scheduler reads UTF-16 with its mark, as its own export writes it.
  const utf16 = definition.text.includes('encoding="UTF-16"')
  const bytes = utf16 ? Buffer.from(`\uFEFF${definition.text}`, 'utf16le') : definition.text
  writeThenRename(definition.file, (out) => out.write(bytes), 0o644)
  run(definition.install)
  console.log(`Installed: ${definition.file}\n${definition.words}`)
}

function remove(definition: ServiceDefinition): void {
  run(definition.remove)
  rmSync(definition.file, { force: true })
  console.log(`Removed: ${definition.file}. The records stay where they are.`)
}

function run(commands: ServiceDefinition['install']): void {
  for (const [program, ...args] of commands) {
    const { status, error } = spawnSync(program!, args, { stdio: 'inherit' })
    if (status !== 0)
      throw new Error(
        `"${[program, ...args].join(' ')}" ended with ${error?.message ?? status}. It needs the rights of an administrator.`,
      )
  }
}
