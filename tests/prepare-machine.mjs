// Finds or installs the Chromium that the browser tests drive, and on Debian, as root, the peers that other tests talk
// to. A peer that cannot be had makes its tests say so and skip; Chromium is needed.
import { spawnSync } from 'node:child_process'
import { existsSync } from 'node:fs'
import { chromium } from 'playwright'

const PEERS = [
  { program: 'socat', package: 'socat' },
  { program: 'xmllint', package: 'libxml2-utils' },
  { program: 'pdftotext', package: 'poppler-utils' },
  { program: 'xmlsec1', package: 'xmlsec1' },
  { program: 'openssl', package: 'openssl' },
  { program: 'strace', package: 'strace' },
  { program: 'mosquitto', package: 'mosquitto' },
  { program: 'pg_createcluster', package: 'postgresql' },
  { program: 'sqlite3', package: 'sqlite3' },
  { program: 'lxi', package: 'lxi-tools' },
  { module: 'pyvisa_py', package: 'python3-pyvisa-py' },
  { module: 'serial', package: 'python3-serial' },
  { module: 'usb', package: 'python3-usb' },
  { module: 'pymodbus', package: 'python3-pymodbus' },
  { module: 'ctypes; ctypes.CDLL("libmodbus.so.5")', package: 'libmodbus5' },
]

/** Debian's own Python, into which its packages install. */
const PYTHON = '/usr/bin/python3'

function isThere({ program, module }) {
  if (program !== undefined) return onPath(program) !== undefined
  return spawnSync(PYTHON, ['-c', `import ${module}`], { stdio: 'ignore' }).status === 0
}

const BROWSERS = ['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable']

function onPath(program) {
  const folders = [
    ...(process.env.PATH ?? '').split(process.platform === 'win32' ? ';' : ':'),
    '/usr/sbin',
    '/sbin',
  ]
  const names = process.platform === 'win32' ? [`${program}.exe`] : [program]
  for (const folder of folders) {
    for (const name of names) if (folder && existsSync(`${folder}/${name}`)) return `${folder}/${name}`
  }
  return undefined
}

/** Path of a Chromium on this machine, or undefined. */
export function findBrowser() {
  if (process.env.CHROMIUM) return process.env.CHROMIUM
  for (const name of BROWSERS) {
    const found = onPath(name)
    if (found) return found
  }
  const bundled = chromium.executablePath()
  return bundled && existsSync(bundled) ? bundled : undefined
}

function run(program, ...args) {
  return (
    spawnSync(program, args, {
      stdio: ['ignore', 'ignore', 'inherit'],
      env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' },
    }).status === 0
  )
}

/** Returns the environment that the tests run in. */
export function prepareMachine() {
  const debianRoot = process.getuid?.() === 0 && onPath('apt-get') !== undefined
  const missing = PEERS.filter((peer) => !isThere(peer)).map((peer) => peer.package)
  if (!findBrowser() && debianRoot) missing.unshift('chromium')
  if (missing.length > 0 && debianRoot) {
    console.log(`Installing ${missing.join(', ')} from Debian.`)
    if (!run('apt-get', 'update', '-qq') || !run('apt-get', 'install', '-y', '-qq', ...missing)) {
      console.log('Some packages could not be installed; tests that need them will say so.')
    }
  } else if (missing.length > 0) {
    console.log(`Not on this machine: ${missing.join(', ')}. Tests that need them will say so and skip.`)
  }
  if (!findBrowser()) {
    console.log('No Chromium found; asking Playwright for its own.')
    spawnSync('playwright', ['install', 'chromium'], {
      stdio: 'inherit',
      shell: process.platform === 'win32',
    })
  }
  const browser = findBrowser()
  if (!browser)
    console.log(
      'No Chromium could be had: the browser tests will fail. Install one and set CHROMIUM to its path.',
    )
  return browser ? { CHROMIUM: browser } : {}
}
