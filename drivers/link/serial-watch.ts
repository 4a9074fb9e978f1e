import { type Stats, unwatchFile, watchFile } from 'node:fs'
import type { Disposable } from '../../app/base/clock.ts'

const LOOK_EVERY_MS = 1000

/**
 * Tells when a port's device node goes away or is another one. After an unplug the system answers reads with nothing
 * instead of an error when the read begins too late, and the port then seems open for ever; the name in the file system
 * does not lie. Looking once a second costs nothing; being told of changes would mean being told of every byte written.
 * The device lives in real time whatever the station's clock does, so this does not wait on that clock.
 */
export function watchGone(path: string, onGone: () => void): Disposable {
  if (process.platform === 'win32') return { dispose: () => {} }
  const look = (now: Stats, before: Stats) => {
    const same = now.ino === before.ino && now.rdev === before.rdev && now.nlink > 0
    if (same) return
    dispose()
    onGone()
  }
  const dispose = () => unwatchFile(path, look)
  watchFile(path, { persistent: false, interval: LOOK_EVERY_MS }, look)
  return { dispose }
}
