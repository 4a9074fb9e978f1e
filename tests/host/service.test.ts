import { execFileSync, spawnSync } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { serviceFor } from '../../main/host/service/definitions.ts'
import { hasProgram } from '../has-program.ts'

const wanted = {
  user: 'Änne Müller',
  home: '/home/änne',
  data: '/home/änne/my records & 100 % "more"',
  port: 8120,
  program: ['/opt/node', '/opt/still point/cli.ts'],
}

describe('serviceFor', () => {
  it('writes a unit that starts with the computer, restarts on failure and gives a bath its time to stop', () => {
    const { file, text, install, remove } = serviceFor('linux', wanted)!
    expect(file).toBe('/etc/systemd/system/stillpoint.service')
    expect(text).toContain('"/opt/still point/cli.ts" "station" "--watchdog"')
    expect(text).toContain('"/home/änne/my records & 100 %% \\"more\\""')
    expect(text).toMatch(/^WantedBy=multi-user\.target$/m)
    expect(text).toMatch(/^Restart=on-failure$/m)
    expect(text).toMatch(/^TimeoutStopSec=120$/m)
    expect(install.at(-1)).toEqual(['systemctl', 'enable', '--now', 'stillpoint.service'])
    expect(remove[0]).toContain('disable')
  })

  it.skipIf(!hasProgram('systemd-analyze'))('writes a unit that systemd itself accepts', () => {
    const folder = mkdtempSync(join(tmpdir(), 'stillpoint-unit-'))
    try {
      const unit = join(folder, 'stillpoint.service')
      writeFileSync(
        unit,
        serviceFor('linux', { ...wanted, user: 'root', program: [process.execPath, '/x.ts'] })!.text,
      )
      const { status, stderr } = spawnSync('systemd-analyze', ['verify', unit], { encoding: 'utf8' })
      expect(stderr).not.toMatch(/stillpoint\.service/)
      expect(status).toBe(0)
    } finally {
      rmSync(folder, { recursive: true, force: true })
    }
  })

  it.skipIf(!hasProgram('xmllint'))('writes well-formed XML for launchd and for the task scheduler', () => {
    for (const platform of ['darwin', 'win32'] as const) {
      const { text } = serviceFor(platform, wanted)!
      execFileSync('xmllint', ['--noout', '--nonet', '-'], {
        input: text.replace('encoding="UTF-16"', 'encoding="UTF-8"').replace(/<!DOCTYPE[^>]*>/, ''),
      })
      expect(text).toContain('Änne Müller')
    }
  })

  it('starts a daemon of launchd without a login, with every argument apart', () => {
    const { text, file } = serviceFor('darwin', wanted)!
    expect(file).toMatch(/^\/Library\/LaunchDaemons\//)
    expect(text).toContain('<string>/home/änne/my records &amp; 100 % &quot;more&quot;</string>')
    expect(text).toMatch(/<key>RunAtLoad<\/key>\s*<true\/>/)
  })

  it('starts a task of Windows at boot, without a login or a stored password, for as long as it likes', () => {
    const { text, words } = serviceFor('win32', {
      ...wanted,
      data: 'C:\\Users\\Änne Müller\\records',
      program: ['C:\\Program Files\\nodejs\\node.exe', 'C:\\Still point\\cli.ts'],
    })!
    expect(text).toContain('<BootTrigger>')
    expect(text).toContain('<LogonType>S4U</LogonType>')
    expect(text).toContain('<ExecutionTimeLimit>PT0S</ExecutionTimeLimit>')
    expect(text).toContain('<Command>C:\\Program Files\\nodejs\\node.exe</Command>')
    expect(text).toContain('&quot;C:\\Still point\\cli.ts&quot; station --watchdog')
    expect(text).toContain('--key-file &quot;C:\\Users\\Änne Müller\\records\\page-key.txt&quot;')
    expect(words).toMatch(/stillpoint stop/)
  })

  it('knows none for a system that nobody has tried', () => {
    expect(serviceFor('aix', wanted)).toBeUndefined()
  })
})

describe('stillpoint service', () => {
  it('shows what it would do, and changes nothing', () => {
    const root = join(import.meta.dirname, '../..')
    const run = (act: string) =>
      execFileSync(
        process.execPath,
        [join(root, 'main/host/cli.ts'), 'service', act, '--dry-run', '--data', join(tmpdir(), 'no such')],
        { encoding: 'utf8' },
      )
    expect(run('install')).toContain('--watchdog')
    expect(run('remove')).toContain('would be removed')
  }, 30_000)
})
