import { execFileSync, spawn, spawnSync } from 'node:child_process'
import {
  chmodSync,
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readFileSync,
  realpathSync,
  rmSync,
  symlinkSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { delimiter, dirname, join } from 'node:path'

/** Programs that a compiler would be found by; none may be on the bare PATH. */
const BUILDERS = ['python3', 'python', 'make', 'gcc', 'cc', 'g++', 'c++', 'clang', 'node-gyp', 'git']
const NPMS = ['10', '11']

const root = join(import.meta.dirname, '../..')

/** Where `program` lies outside this checkout, or undefined. */
function find(program: string): string | undefined {
  for (const folder of (process.env.PATH ?? '').split(delimiter)) {
    const path = join(folder, program)
    if (folder !== '' && !folder.startsWith(root) && existsSync(path)) return realpathSync(path)
  }
  return undefined
}

/** The files of this checkout as git would hand them to somebody else. */
function copyCheckout(to: string): void {
  const files = execFileSync('git', ['ls-files', '-z', '--cached', '--others', '--exclude-standard'], {
    cwd: root,
    encoding: 'utf8',
    maxBuffer: 64 * 1024 * 1024,
  })
  for (const file of files.split('\0')) {
    if (file === '' || !existsSync(join(root, file))) continue
    mkdirSync(dirname(join(to, file)), { recursive: true })
    cpSync(join(root, file), join(to, file))
  }
}

/** `npm ci --omit=dev` and a built page, on the same bare PATH: a station that serves its page and is stopped. */
function withoutDevelopers(place: string): { good: boolean; words: string } {
  const built = join(place, 'checkout/dist')
  const checkout = join(place, 'headless')
  const data = join(place, 'data')
  const complaints = join(place, 'station.log')
  const env = { PATH: join(place, 'bin'), HOME: join(place, 'home'), TMPDIR: place }
  copyCheckout(checkout)
  cpSync(built, join(checkout, 'dist'), { recursive: true })
  const run = (program: string, ...args: string[]) =>
    spawnSync(join(place, 'bin', program), args, {
      cwd: checkout,
      env,
      encoding: 'utf8',
      timeout: 10 * 60_000,
    })
  const installed = run('npm', 'ci', '--omit=dev')
  if (installed.status !== 0) return { good: false, words: installed.stderr }
  const station = spawn(join(place, 'bin/npx'), ['stillpoint', 'station', '--data', data, '--port', '0'], {
    cwd: checkout,
    env,
    stdio: ['ignore', 'ignore', openSync(complaints, 'w')],
  })
  try {
    let asked = run('npx', 'stillpoint', 'stop', '--data', data)
    for (let tries = 0; asked.status === 1 && tries < 60; tries++)
      asked = run('npx', 'stillpoint', 'stop', '--data', data)
    const good = asked.status === 0 && !existsSync(join(checkout, 'node_modules/vite'))
    return {
      good,
      words: `npm ci --omit=dev, a station and its stop: ${good ? 'whole' : asked.stderr + readFileSync(complaints, 'utf8')}`,
    }
  } finally {
    station.kill()
  }
}

/**
 * The README's first command on a machine that has Node, npm and a shell and nothing else: no Python, no make, no
 * compiler, no git. Each npm is taken from the registry into a temporary folder and installs a copy of this checkout
 * with the Node that the machine has; then the demo has to run to its end. With `tests`, `npm test` has to as well.
 */
export function onBareMachine(
  tests: boolean,
  npms: readonly string[] = NPMS,
): { good: boolean; lines: string[] } {
  const shell = find('sh')
  const outerNode = find('node')
  if (process.platform === 'win32' || !shell || !outerNode)
    return { good: false, lines: ['This trial needs a POSIX shell and a Node outside the checkout.'] }
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-bare-'))
  // Servers of the tests run as nobody and keep their data below it.
  chmodSync(folder, 0o755)
  const lines: string[] = []
  let good = true
  try {
    for (const major of npms) {
      const place = join(folder, `npm-${major}`)
      const bin = join(place, 'bin')
      const checkout = join(place, 'checkout')
      mkdirSync(bin, { recursive: true })
      mkdirSync(join(place, 'home'))
      execFileSync('npm', ['install', '--silent', '--no-save', '--prefix', place, `npm@${major}`], {
        stdio: 'inherit',
      })
      symlinkSync(shell, join(bin, 'sh'))
      symlinkSync(outerNode, join(bin, 'node'))
      for (const name of ['npm', 'npx'])
        symlinkSync(join(place, `node_modules/npm/bin/${name}-cli.js`), join(bin, name))
      copyCheckout(checkout)
      const env = {
        PATH: bin,
        HOME: join(place, 'home'),
        TMPDIR: place,
        // Only what says where packages come from is taken along.
        ...Object.fromEntries(
          Object.entries(process.env).filter(([name]) =>
            /^(npm_config_(registry|cafile|cache|userconfig)|https?_proxy|no_proxy|NODE_EXTRA_CA_CERTS|CHROMIUM)$/i.test(
              name,
            ),
          ),
        ),
      }
      const run = (program: string, ...args: string[]) =>
        spawnSync(join(bin, program), args, {
          cwd: checkout,
          env,
          encoding: 'utf8',
          timeout: 40 * 60_000,
          maxBuffer: 256 * 1024 * 1024,
        })
      const builders = BUILDERS.filter((name) => existsSync(join(bin, name)))
      if (builders.length > 0) throw new Error(`the PATH is not bare: ${builders.join(', ')}`)
      const versions = `npm ${run('npm', '--version').stdout.trim()} on Node ${run('node', '--version').stdout.trim()}`
      for (const command of [
        ['ci'],
        ['run', '--silent', 'demo', '--', '--once', '--out', join(place, 'night')],
        ...(tests ? [['test']] : []),
      ]) {
        const started = performance.now()
        const { status, stdout, stderr } = run('npm', ...command)
        const seconds = ((performance.now() - started) / 1000).toFixed(0)
        lines.push(
          `${versions}: npm ${command.join(' ').replace(place, '')} ended with ${status} in ${seconds} s`,
        )
        if (status === 0) continue
        good = false
        lines.push(`${stdout}\n${stderr}`.split('\n').slice(-400).join('\n'))
        break
      }
    }
    const headless = withoutDevelopers(join(folder, `npm-${npms.at(-1)}`))
    lines.push(headless.words)
    good &&= headless.good
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
  return { good, lines }
}
