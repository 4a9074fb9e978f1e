import { existsSync, readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { registerFile, signRegisterWork } from '../../main/host/sign-register-work.ts'
import { trialStamp } from '../../main/study/signing/time-stamp.ts'
import { makeTrialAuthority } from '../../main/study/signing/trial-authority.ts'
import { readRoots, verifyPdf, verifyXml } from '../../main/study/signing/verify.ts'
import { better, compared, entry, tin, work } from '../report/register-fixture.ts'
import { type EmptyHost, openEmptyHost } from './empty-host.ts'
import { enterKeeper, KEEPER } from './keeper.ts'
import { NOTHING_TO_STATE } from './statements.ts'
import { refusalOf, Windows } from './window.ts'

const NOW = Date.UTC(2026, 2, 20, 8) * 1000
const windows = new Windows()
let host: EmptyHost

beforeAll(async () => {
  host = await openEmptyHost(NOW)
  await enterKeeper(host.services)
  const { store } = host.hosted
  store.saveSettings(host.services.settings({ laboratory: work.laboratory }), 'test')
  store.saveThermometer(entry, 'test', '')
  store.saveCell(tin, 'test', '')
  for (const one of [better, compared]) store.saveResistor(one, 'test', '')
})
afterAll(() => {
  windows.close()
  return host.close()
})

const groundOf = () => ({
  store: host.hosted.store,
  reports: host.services.reports,
  clock: host.clock,
  paper: 'A4' as const,
})
const points = () => ({ kind: 'fixed-points' as const, id: 'sprt-9', entry: entry.calibrations[0]!.id })
const signer = { who: 'C. Hale', statements: NOTHING_TO_STATE, gapsKnown: true }

describe('signRegisterWork', () => {
  it('writes nothing where a stamp cannot be used', async () => {
    const authority = await makeTrialAuthority('C. Hale', 'Quennick', NOW)
    const stamp = () => Promise.reject(new Error('no stamp'))
    const call = signRegisterWork(groundOf(), points(), signer, { key: authority.signer, stamp })
    await expect(call).rejects.toThrow(/no stamp/)
    expect(host.hosted.store.certificates()).toEqual([])
    expect(host.hosted.store.records.one('thermometer', 'sprt-9')!.calibrations[0]!.signed).toBeUndefined()
  })

  it('gives a calibration at fixed points its number, and signs PDF and XML of it electronically', async () => {
    const { store } = host.hosted
    const authority = await makeTrialAuthority('C. Hale', 'Quennick', NOW)
    const stamp = (data: Uint8Array) => trialStamp(authority.stamper, data, NOW)
    const words = await signRegisterWork(groundOf(), points(), signer, { key: authority.signer, stamp })
    expect(words).toBe('Signed by C. Hale as 2026-0001, electronically.')
    const kept = store.records.one('thermometer', 'sprt-9')!.calibrations[0]!
    expect(kept).toMatchObject({ certificate: '2026-0001', signed: { who: 'C. Hale', electronic: true } })
    const roots = readRoots(authority.rootPem)
    const xml = await registerFile(groundOf(), points(), 'xml')
    expect(xml.name).toBe('2026-0001-v1.xml')
    expect(await verifyXml(Buffer.from(xml.data).toString(), roots, NOW)).toMatchObject({
      state: 'intact',
      trusted: true,
    })
    const pdf = await registerFile(groundOf(), points(), 'pdf')
    expect(await verifyPdf(pdf.data, roots, NOW)).toMatchObject({ state: 'intact', trusted: true })
    // What is handed out is what was signed, byte for byte.
    const folder = join(store.folder, 'certificates')
    const [own] = readdirSync(folder)
    expect(readFileSync(join(folder, own!, pdf.name)).equals(Buffer.from(pdf.data))).toBe(true)
    await expect(signRegisterWork(groundOf(), points(), signer, null)).rejects.toThrow(
      /signed already, as 2026-0001 by C\. Hale/,
    )
  }, 60_000)

  it('goes through the window: a gap of the chain has to be seen, a wrong password signs nothing, the next number is given', async () => {
    const client = windows.open(host.services, 'operator')
    const of = { kind: 'resistor' as const, id: 'own', entry: compared.comparisons![0]!.id }
    expect(await client.checks.certificateHolds(of)).toMatchObject({ signed: null, hasKey: false, gaps: [] })
    const asked = { ...of, statements: NOTHING_TO_STATE }
    const wrong = await refusalOf(client.checks.signCertificate({ ...asked, password: 'x' }))
    expect(wrong.words).toMatch(/Nothing was signed/)
    const { words } = await client.checks.signCertificate({ ...asked, password: KEEPER.password })
    expect(words).toBe(`Signed by ${KEEPER.name} as 2026-0002.`)
    const own = host.hosted.store.records.one('resistor', 'own')!
    expect(own.calibrations.at(-1)!.certificate).toBe('2026-0002')
    expect(existsSync(join(host.hosted.store.folder, 'certificates', `resistor-own-${of.entry}`))).toBe(false)
    const xml = await client.checks.certificate({ ...of, format: 'xml' })
    expect(await (xml as Blob).text()).toContain('2026-0002/1')
    const holey = { kind: 'fixed-points' as const, id: 'sprt-10', entry: entry.calibrations[0]!.id }
    host.hosted.store.saveCell({ ...tin, certificate: undefined }, 'test', '')
    host.hosted.store.saveThermometer({ ...entry, id: 'sprt-10' }, 'test', '')
    const gap = await refusalOf(
      client.checks.signCertificate({ ...holey, statements: NOTHING_TO_STATE, password: KEEPER.password }),
    )
    expect(gap.words).toMatch(/The chain to the SI has gaps\. .*Tin cell/)
  }, 60_000)
})
