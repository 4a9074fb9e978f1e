// Reads the fuses back from the packaged program, and fails where one is not as electron-builder.yml sets it.
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { FuseState, FuseV1Options, getCurrentFuseWire } from '@electron/fuses'
import { parse } from 'yaml'

const root = join(import.meta.dirname, '../..')
const packages = join(root, 'dist/packages')
const wanted = parse(readFileSync(join(root, 'electron-builder.yml'), 'utf8')).electronFuses
const NAMES = {
  runAsNode: FuseV1Options.RunAsNode,
  enableCookieEncryption: FuseV1Options.EnableCookieEncryption,
  enableNodeOptionsEnvironmentVariable: FuseV1Options.EnableNodeOptionsEnvironmentVariable,
  enableNodeCliInspectArguments: FuseV1Options.EnableNodeCliInspectArguments,
  enableEmbeddedAsarIntegrityValidation: FuseV1Options.EnableEmbeddedAsarIntegrityValidation,
  onlyLoadAppFromAsar: FuseV1Options.OnlyLoadAppFromAsar,
  loadBrowserProcessSpecificV8Snapshot: FuseV1Options.LoadBrowserProcessSpecificV8Snapshot,
  grantFileProtocolExtraPrivileges: FuseV1Options.GrantFileProtocolExtraPrivileges,
}
const PROGRAM = { linux: 'stillpoint', win32: 'Stillpoint.exe', darwin: 'Stillpoint.app' }
const UNPACKED = /^(linux|win|mac)(-[a-z0-9]+)?(-unpacked)?$/

const places = readdirSync(packages).filter((name) => UNPACKED.test(name))
if (places.length === 0) throw new Error(`There is no unpacked program in ${packages}.`)
for (const place of places) {
  const wire = await getCurrentFuseWire(join(packages, place, PROGRAM[process.platform]))
  for (const [name, option] of Object.entries(NAMES)) {
    const found = wire[option] === FuseState.ENABLE
    console.log(`${place}: ${name} is ${found ? 'on' : 'off'}`)
    if (found !== wanted[name]) {
      console.log(`${place}: ${name} should be ${wanted[name] ? 'on' : 'off'}`)
      process.exitCode = 1
    }
  }
}
