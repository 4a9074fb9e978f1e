// A package with a binding.gyp that ships its binaries says `gypfile: false` in its manifest. npm decides by the lock
// file, and strips the mark from it whenever it writes the lock anew; without the mark npm 10 runs `node-gyp rebuild`,
// and an installation fails on every machine that has no compiler.
//   node tests/house/lock-marks.mjs [--mend]
import { existsSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'

const root = join(import.meta.dirname, '../..')
const lockFile = join(root, 'package-lock.json')
const json = (path) => JSON.parse(readFileSync(path, 'utf8'))

/** Places in the lock (`node_modules/...`) of packages that must not be built at install but lack the mark. */
export function unmarked(lock) {
  return Object.entries(lock.packages)
    .filter(([place, entry]) => place !== '' && entry.gypfile !== false)
    .map(([place]) => place)
    .filter((place) => {
      const folder = join(root, place)
      return existsSync(join(folder, 'binding.gyp')) && json(join(folder, 'package.json')).gypfile === false
    })
}

/** The lock with those marks set, each after the integrity hash, where npm would read it. */
export function marked(lock) {
  const packages = { ...lock.packages }
  for (const place of unmarked(lock)) {
    const { version, resolved, integrity, dev, ...rest } = packages[place]
    packages[place] = { version, resolved, integrity, dev, gypfile: false, ...rest }
  }
  return { ...lock, packages }
}

if (import.meta.main ?? process.argv[1] === import.meta.filename) {
  const lock = json(lockFile)
  const missing = unmarked(lock)
  if (missing.length > 0 && process.argv.includes('--mend')) {
    writeFileSync(lockFile, `${JSON.stringify(marked(lock), null, 2)}\n`)
    console.log(`package-lock.json: gypfile: false set again for ${missing.join(', ')}`)
  } else if (missing.length > 0) {
    console.log(
      `package-lock.json lost "gypfile": false of ${missing.join(', ')}: an installation would need a compiler. Run npm run format.`,
    )
    process.exitCode = 1
  }
}
