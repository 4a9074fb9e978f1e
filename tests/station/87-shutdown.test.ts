import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { expect, it, vi } from 'vitest'
import { AlarmRules, Settings } from '../../app/contract/settings.ts'
import { tellOfShutdown } from '../../main/station/before-shutdown.ts'
import { onStopRequest, requestStop, type StopRequest } from '../../main/station/stop-request.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import { type Box, openBox, planOf } from './box.ts'

/** A night that waits at 60 degC when the computer is shut down. */
async function shutDownAt60(safe: boolean, look: (box: Box, bodies: { subject: string }[]) => Promise<void>) {
  const bodies: { subject: string }[] = []
  const hook = createServer((request, response) => {
    let text = ''
    request.on('data', (part) => {
      text += String(part)
    })
    request.on('end', () => {
      bodies.push(JSON.parse(text) as { subject: string })
      response.end()
    })
  })
  await new Promise<void>((resolve) => hook.listen(0, '127.0.0.1', resolve))
  const box = await openBox({ scenario: 'quiet' })
  try {
    const { port } = hook.address() as AddressInfo
    box.store.saveAlarmRules(
      AlarmRules.parse({
        // Of rules made before there was one for this, and with the bath's own switched off.
        rules: [{ id: 'bath', kind: 'bath', severity: 'alarm', enabled: false }],
        groupS: 3600,
        webhook: { url: `http://127.0.0.1:${port}/` },
      }),
      'test',
    )
    box.store.saveSettings(
      Settings.parse({
        laboratory: { name: 'L', address: [], country: 'XX' },
        bathWhenEnded: safe ? 'safe' : 'stay',
      }),
      'test',
    )
    box.station.touched('settings')
    const session = await box.station.startPlan({ plan: planOf([60]), operator: 'Test' })
    await vi.waitFor(async () => expect(Number(await setpointOf(box))).toBe(60), { timeout: 20_000 })
    await Promise.all([tellOfShutdown(box.station, safe), box.station.depart('the computer is shut down')])
    await look(box, bodies)
    await box.restart()
    const file = openSessionFile(box.store.sessionPath(session), { mode: 'read' })
    expect(file.info.endedUtcUs).toBeNull()
    file.close()
    expect(await box.station.open()).toBe(session)
    expect(box.station.session?.runner?.setpointC).toBe(60)
  } finally {
    await box.close()
    hook.close()
  }
}

const setpointOf = (box: Box) => box.station.converse('bath', 'SOUR:TEMP:SPO?', 'Test', true)

it('tells people at once that the computer is shut down, and leaves the bath where nothing else is wished', async () => {
  await shutDownAt60(false, async (box, bodies) => {
    expect(bodies).toHaveLength(1)
    expect(bodies[0]!.subject).toMatch(/computer is being shut down.*stays at 60.*nobody looks after it/)
    expect(Number(await setpointOf(box))).toBe(60)
  })
})

it('sends the bath to its safe setpoint before the computer is off, where that is wished', async () => {
  await shutDownAt60(true, async (box, bodies) => {
    expect(bodies[0]!.subject).toMatch(/sent to its safe setpoint/)
    expect(Number(await setpointOf(box))).toBe(box.lab.bench.bath!.safeC)
  })
})

it('does nothing where no session runs', async () => {
  const box = await openBox({ scenario: 'quiet' })
  try {
    await tellOfShutdown(box.station, true)
    expect(box.station.state().alarms).toEqual([])
  } finally {
    await box.close()
  }
})

it('hears a request to stop once, and none from before its start or from another hand', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-stop-'))
  const heard: StopRequest[] = []
  try {
    requestStop(folder, { safely: true, who: 'yesterday' })
    const listening = onStopRequest(folder, (request) => heard.push(request), 10)
    writeFileSync(join(folder, 'stop-request.json'), 'not ours')
    await new Promise((resolve) => setTimeout(resolve, 60))
    expect(heard).toEqual([])
    requestStop(folder, { safely: false, who: 'me' })
    await vi.waitFor(() => expect(heard).toEqual([{ safely: false, who: 'me' }]))
    requestStop(folder, { safely: false, who: 'me again' })
    await new Promise((resolve) => setTimeout(resolve, 60))
    expect(heard).toHaveLength(1)
    listening.dispose()
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
})
