// A core for the watchdog's tests: beats like a real one, then does what it is told. The first life of a file differs from the later ones.
import { existsSync, writeFileSync } from 'node:fs'

const [mark, what] = process.argv.slice(2)
const firstLife = !existsSync(mark)
writeFileSync(mark, '')
const silentS = firstLife && what === 'silent' ? 121 : 0
setInterval(() => process.send?.({ beat: 1, silentS, allowedS: 120 }), 50)
if (!firstLife) setTimeout(() => process.exit(0), 300)
else if (what === 'crash') setTimeout(() => process.exit(7), 200)
else if (what === 'hang') {
  setTimeout(() => {
    for (;;);
  }, 200)
} else if (what === 'arguments') process.exit(2)
