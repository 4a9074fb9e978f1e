/** A process to be killed: copies a session over and over, or gives it the newest form. Arguments: what, file, target. */
import { writeSync } from 'node:fs'
import { bringUpToDate } from '../../main/store/bring-up-to-date.ts'
import { copySession } from '../../main/store/export/copy.ts'

const [what, path = '', target = ''] = process.argv.slice(2)
writeSync(1, 'begun\n')
if (what === 'copy') for (;;) await copySession(path, target)
else bringUpToDate(path)
