import { spawnSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterAll, describe, expect, it } from 'vitest'
import { loadProfiles, tryProfile } from '../../drivers/index.ts'
import { parseLink } from '../../main/host/commands/profile.ts'
import { openLab } from './lab.ts'

const folder = mkdtempSync(join(tmpdir(), 'stillpoint-profiles-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))
const library = await loadProfiles()
const shipped = fileURLToPath(new URL('../../drivers/profiles/lab-tb-1.json', import.meta.url))
const command = fileURLToPath(new URL('../../main/host/stillpoint.mjs', import.meta.url))

function stillpoint(...args: string[]) {
  const { status, stdout } = spawnSync(process.execPath, [command, 'profile', ...args], { encoding: 'utf8' })
  return { status, out: stdout }
}

describe('tryProfile', () => {
  it.each(['tcp', 'hislip', 'vxi-11', 'usbtmc', 'modbus'] as const)(
    'walks through every instrument of the lab over %s, and all of it works',
    async (bus) => {
      const bench = await openLab(2, undefined, bus)
      for (const { profile, link } of bench.lab.bench.instruments) {
        const attempts = await tryProfile({
          driver: library.profiles.get(profile)!,
          link,
          clock: bench.clock,
          settings: true,
        })
        expect(attempts.length).toBeGreaterThan(1)
        const unlike = attempts.filter((each) => each.outcome !== 'worked')
        // Inputs of the lab with nothing on them say so; that is no value to believe, and no fault.
        expect(
          unlike.filter(({ outcome, words }) => outcome !== 'no value' || !words.includes('not a number')),
        ).toEqual([])
      }
      await bench.close()
    },
  )

  it('changes nothing unless it is told to', async () => {
    const bench = await openLab(2)
    const spec = bench.lab.bench.instruments.find((each) => each.id === 'bath')!
    const sent: string[] = []
    const attempts = await tryProfile({
      driver: library.profiles.get(spec.profile)!,
      link: spec.link,
      clock: bench.clock,
      settings: false,
      onTraffic: (line) => {
        if (line.direction === 'sent') sent.push(line.text)
      },
    })
    expect(attempts.some((each) => each.outcome === 'skipped')).toBe(true)
    expect(sent.filter((line) => !line.includes('?'))).toEqual(['*CLS\\x0A'])
    await bench.close()
  })

  it('does not say that an answer worked which its rule rejects', async () => {
    const bench = await openLab(2)
    const bath = bench.lab.bench.instruments.find((each) => each.id === 'bath')!
    const shipped = library.profiles.get(bath.profile)!
    // As written by somebody who believed that the bath answers in words.
    const temperature = String(shipped.profile.capabilities['read-temperature']![0])
    const commands = structuredClone(shipped.profile.commands)
    const { answer } = commands[temperature]!
    commands[temperature]!.answer = { ...answer, pattern: '^T=(?<value>.*)$' } as typeof answer
    const driver = { ...shipped, profile: { ...shipped.profile, commands } }
    const attempts = await tryProfile({ driver, link: bath.link, clock: bench.clock, settings: false })
    const failed = attempts.filter(({ outcome }) => outcome === 'failed')
    expect(failed.map(({ what }) => what)).toEqual(
      expect.arrayContaining([expect.stringContaining(temperature), 'read temperature']),
    )
    expect(failed[0]!.words).toContain('does not look like the answer')
    await bench.close()
  })

  it('says what failed where the wrong instrument answers', async () => {
    const bench = await openLab(2)
    const bath = bench.lab.bench.instruments.find((each) => each.id === 'bath')!
    const driver = library.profiles.get('lab-rb-8')!
    const attempts = await tryProfile({ driver, link: bath.link, clock: bench.clock, settings: true })
    expect(attempts).toHaveLength(1)
    expect(attempts[0]).toMatchObject({ what: 'open and identify', outcome: 'failed' })
    expect(attempts[0]!.words).toContain('QUENNICK,TB-2')
    await bench.close()
  })
})

describe('loadProfiles', () => {
  it('takes a user’s profile beside the program’s, and over one with the same id; a bad one keeps nobody from working', async () => {
    const own = JSON.parse(readFileSync(shipped, 'utf8'))
    writeFileSync(join(folder, 'mine.json'), JSON.stringify({ ...own, title: 'Mine' }))
    writeFileSync(join(folder, 'other.json'), JSON.stringify({ ...own, id: 'other' }))
    writeFileSync(join(folder, 'bad.json'), '{\n  "format": "stillpoint profile 1",\n')
    const mixed = await loadProfiles({ userFolder: folder })
    expect(mixed.profiles.get('lab-tb-1')?.profile.title).toBe('Mine')
    expect(mixed.profiles.has('other')).toBe(true)
    expect(mixed.profiles.has('lab-rb-8')).toBe(true)
    expect(mixed.problems.map((each) => each.file)).toEqual([join(folder, 'bad.json')])
    const without = await loadProfiles({ userFolder: join(folder, 'nowhere') })
    expect(without.problems).toEqual([])
  })
})

describe('stillpoint profile check', () => {
  it('says that a profile is good, and replays its transcript', () => {
    const { status, out } = stillpoint('check', shipped)
    expect(out).toMatch(/^lab-tb-1: good, \d+ commands, \d+ transcript parts replayed\n$/)
    expect(status).toBe(0)
  })

  it('points at the line that is wrong, and exits with 1', () => {
    const text = readFileSync(shipped, 'utf8')
    const file = join(folder, 'wrong.json')
    writeFileSync(file, text.replace('"risk": "hazardous"', '"risk": "hot"'))
    const { status, out } = stillpoint('check', file)
    const line = text.slice(0, text.indexOf('"risk": "hazardous"')).split('\n').length
    expect(out).toContain(`${file}:${line}:7: commands.setpoint.risk: `)
    expect(status).toBe(1)
  })

  it('says what in the transcript does not hold', () => {
    const file = join(folder, 'changed.json')
    writeFileSync(file, readFileSync(shipped, 'utf8').replace('"send": "PV?"', '"send": "PX?"'))
    const { status, out } = stillpoint('check', file)
    expect(out).toContain('the transcript does not hold')
    expect(status).toBe(1)
  })

  it('says that a file cannot be read', () => {
    const { status, out } = stillpoint('check', join(folder, 'nothing.json'))
    expect(out).toContain('cannot be read')
    expect(status).toBe(1)
  })
})

describe('parseLink', () => {
  it('reads both kinds of link', () => {
    expect(parseLink('tcp:127.0.0.1:5301')).toEqual({ kind: 'tcp', host: '127.0.0.1', port: 5301 })
    expect(parseLink('hislip:127.0.0.1/hislip0')).toEqual({
      kind: 'hislip',
      host: '127.0.0.1',
      port: 4880,
      device: 'hislip0',
    })
    expect(parseLink('modbus-tcp:10.0.0.7/3')).toEqual({
      kind: 'modbus-tcp',
      host: '10.0.0.7',
      port: 502,
      unit: 3,
    })
    expect(parseLink('usbtmc:1209:0001:0817@127.0.0.1:3240')).toEqual({
      kind: 'usbtmc',
      vendor: 0x1209,
      product: 1,
      serial: '0817',
      sharedBy: { host: '127.0.0.1', port: 3240 },
    })
    expect(parseLink('visa:GPIB0::5::INSTR')).toEqual({ kind: 'visa', resource: 'GPIB0::5::INSTR' })
    expect(parseLink('usbtmc:1209:1')).toEqual({ kind: 'usbtmc', vendor: 0x1209, product: 1 })
    expect(parseLink('modbus-rtu:/dev/ttyUSB0:19200#12')).toEqual({
      kind: 'modbus-rtu',
      path: '/dev/ttyUSB0',
      baud: 19200,
      unit: 12,
    })
    expect(parseLink('vxi-11:gateway:1111/gpib0,5')).toEqual({
      kind: 'vxi-11',
      host: 'gateway',
      device: 'gpib0,5',
      portmapper: 1111,
    })
    expect(parseLink('tcp:[::1]:5301')).toEqual({ kind: 'tcp', host: '::1', port: 5301 })
    expect(parseLink('serial:/dev/ttyUSB0:2400')).toEqual({
      kind: 'serial',
      path: '/dev/ttyUSB0',
      baud: 2400,
    })
    expect(parseLink('serial:COM3')).toEqual({ kind: 'serial', path: 'COM3' })
  })
  it.each(['', 'tcp:host', 'tcp:host:0', 'tcp:host:70000', 'usb:1'])('refuses %j', (text) =>
    expect(() => parseLink(text)).toThrow(),
  )
})
