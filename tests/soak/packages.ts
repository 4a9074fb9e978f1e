import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { statFile } from '@electron/asar'
import { packFor, type Target } from '../desktop/pack-for.ts'

const SYSTEMS: { target: Target; platform: string; executable: string }[] = [
  { target: 'linux', platform: 'linux', executable: 'stillpoint' },
  { target: 'win', platform: 'win32', executable: 'Stillpoint.exe' },
  { target: 'mac', platform: 'darwin', executable: 'Contents/MacOS/Stillpoint' },
]

/**
 * Packs the program for each system on this one, around a made-up distribution of Electron, and looks through what came
 * out: the executable, native files of that system alone and outside the archive, every file that the built page lists,
 * threads and profiles, and on macOS what the system asks a program to say of itself.
 */
export function packForAll(): { good: boolean; lines: string[] } {
  const lines: string[] = []
  for (const { target, platform, executable } of SYSTEMS) {
    const folder = mkdtempSync(join(tmpdir(), `stillpoint-${target}-`))
    try {
      const { program, archive, names } = packFor(target, folder)
      const native = names.filter((name) => name.endsWith('.node'))
      const listed = JSON.parse(
        readFileSync(join(import.meta.dirname, '../../dist/renderer/files.json'), 'utf8'),
      ) as string[]
      const plist = join(program, 'Contents/Info.plist')
      const wrong = [
        !existsSync(join(program, executable)) && `there is no ${executable}`,
        native.length < 2 && `native files: ${native.join(', ')}`,
        ...native.map((name) => !new RegExp(`[/-]${platform}-`).test(name) && `${name} is another system's`),
        ...native.map((name) => !('unpacked' in statFile(archive, name)) && `${name} lies in the archive`),
        ...listed.map((name) => !names.includes(`dist/renderer/${name}`) && `${name} of the page is missing`),
        ...['reader', 'report'].map(
          (name) => !names.includes(`dist/desktop/${name}-worker.mjs`) && `the ${name} thread is missing`,
        ),
        names.filter((name) => name.startsWith('dist/profiles/')).length < 6 && 'profiles are missing',
        target === 'mac' &&
          !readFileSync(plist, 'utf8').includes('NSLocalNetworkUsageDescription') &&
          'macOS is not told what the local network is for',
      ].filter((words) => words !== false)
      lines.push(
        `${platform}: ${names.length} files, ${native.length} native${wrong.length > 0 ? `; NOT HELD: ${wrong.join('; ')}` : ''}`,
      )
    } finally {
      rmSync(folder, { recursive: true, force: true })
    }
  }
  return { good: lines.every((line) => !line.includes('NOT HELD')), lines }
}
