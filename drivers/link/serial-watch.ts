import { existsSync, type FSWatcher, realpathSync, watch } from 'node:fs'
import { dirname } from 'node:path'
import type { Disposable } from '../../app/records/clock.ts'

/**
 * Tells when a port's device node goes away. After an unplug the system answers reads with nothing instead of an error
 * when the read begins too late, and the port then seems open for ever; the name in the file system does not lie. Where
 * folders cannot be watched (Windows) the port's own errors have to do.
 */
export function watchGone(path: string, onGone: () => void): Disposable {
  const watchers: FSWatcher[] = []
  let over = false
  const dispose = () => {
    over = true
    for (const watcher of watchers) watcher.close()
  }
  const look = (place: string) => {
    if (over || existsSync(place)) return
    dispose()
    onGone()
  }
  for (const place of placesOf(path)) {
    try {
      const watcher = watch(dirname(place), { persistent: false }, () => look(place))
      watcher.on('error', () => look(place))
      watchers.push(watcher)
    } catch {
      // A folder that cannot be watched leaves the port's own errors to tell.
    }
  }
  return { dispose }
}

/** The name as given and the device node behind it, which differ for a link such as those under /dev/serial. */
function placesOf(path: string): string[] {
  if (process.platform === 'win32') return []
  try {
    return [...new Set([path, realpathSync(path)])]
  } catch {
    return [path]
  }
}
