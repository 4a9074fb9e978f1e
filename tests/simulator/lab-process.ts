import { type ChildProcess, execFile, spawn, spawnSync } from 'node:child_process'
import { once } from 'node:events'
import { join } from 'node:path'
import { createInterface } from 'node:readline'

export const HOST = join(import.meta.dirname, '../../main/host/stillpoint.mjs')

/** Runs a program to its end with some input and gives what it printed. */
export function output(command: string, args: readonly string[], input = ''): Promise<string> {
  return new Promise((resolve, reject) => {
    const child = execFile(command, args, RUN, (error, stdout, stderr) => {
      if (error) reject(new Error(`${command}: ${error.message} ${stderr}`))
      else resolve(stdout)
    })
    child.stdin?.end(input)
  })
}

export const RUN = { timeout: 20_000, encoding: 'utf8' } as const

/** Whether a program is there and answers so. */
export function has(command: string, ...args: string[]): boolean {
  return spawnSync(command, args, { stdio: 'ignore' }).status === 0
}

/** A Python that has these modules; Debian's own comes first, since packages install into it. */
export const pythonWith = (modules: string): string | undefined =>
  ['/usr/bin/python3', 'python3'].find((python) => has(python, '-c', `import ${modules}`))

interface Running {
  child: ChildProcess
  links: Record<
    string,
    {
      kind: string
      host: string
      port: number
      path: string
      portmapper?: number
      unit?: number
      sharedBy?: { host: string; port: number }
    }
  >
  stop(): Promise<number | null>
}

/** The lab as its own process, as a user starts it. */
export async function labProcess(...args: string[]): Promise<Running> {
  const child = spawn(process.execPath, [HOST, 'lab', '--json', ...args], {
    stdio: ['ignore', 'pipe', 'inherit'],
  })
  const [line] = (await once(createInterface(child.stdout!), 'line')) as [string]
  const { endpoints } = JSON.parse(line) as { endpoints: { id: string; link: Running['links'][string] }[] }
  return {
    child,
    links: Object.fromEntries(endpoints.map(({ id, link }) => [id, link])),
    async stop() {
      const ended = once(child, 'exit') as Promise<[number | null]>
      child.kill('SIGINT')
      return (await ended)[0]
    },
  }
}
