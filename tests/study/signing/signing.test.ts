import { spawnSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import path from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { analyse } from '../../../app/results/analysis.ts'
import { certificatePdf, certificatesOf, certificateXml } from '../../../main/study/report/certificates.ts'
import { signCms } from '../../../main/study/signing/cms.ts'
import { checkValid, readKey, type SigningKey } from '../../../main/study/signing/key.ts'
import { signPdf, withoutSignature } from '../../../main/study/signing/pdf-signature.ts'
import { askStamp, checkStamp, readStamp, trialStamp } from '../../../main/study/signing/time-stamp.ts'
import {
  makeTrialAuthority,
  type TrialAuthority,
  writeKey,
} from '../../../main/study/signing/trial-authority.ts'
import {
  readRoots,
  verdictWords,
  verifyCms,
  verifyPdf,
  verifyXml,
} from '../../../main/study/signing/verify.ts'
import { signXml, withoutXmlSignature } from '../../../main/study/signing/xml-signature.ts'
import { simulate } from '../../report/fixture.ts'
import { opensslStamps, stampService } from './openssl-stamps.ts'

// Against tools that nobody here wrote: openssl, pdfsig of poppler, xmlsec1.

const NOW = Date.now() * 1000
const folder = mkdtempSync(path.join(tmpdir(), 'signing-'))
const at = (name: string) => path.join(folder, name)
const has = (tool: string, ...args: string[]) => {
  const there = spawnSync(tool, args).error === undefined
  if (!there) console.warn(`${tool} is not installed: what it would verify is not verified here.`)
  return there
}
const openssl = has('openssl', 'version')
const pdfsig = has('pdfsig', '-v')
const xmlsec = has('xmlsec1', '--version')

/** Output of a tool, and whether it was content. */
function run(tool: string, ...args: string[]): { fine: boolean; said: string } {
  const { status, stdout, stderr } = spawnSync(tool, args, { encoding: 'utf8' })
  return { fine: status === 0, said: `${stdout}${stderr}` }
}

let authority: TrialAuthority
let key: SigningKey
let pdf: Uint8Array
let xml: string
const stamp = (data: Uint8Array) => trialStamp(authority.stamper, data, NOW)

beforeAll(async () => {
  authority = await makeTrialAuthority('C. Hale', 'Quennick Temperature Laboratory', NOW)
  writeFileSync(at('root.pem'), authority.rootPem)
  key = await readKey(await writeKey(authority.signer, 'still water'), 'still water')
  const { input } = simulate({ seed: 2, cell: 'none' })
  const signOff = {
    ...{ n: 90, utcUs: NOW, monoUs: 0, kind: 'sign-off' as const, who: 'C. Hale', subject: null, words: '' },
    data: { electronic: true, certificates: { 'prt-x1': 'QTL-2026-0001' } },
  }
  const analysis = analyse({ ...input, events: [...input.events, signOff], options: { monteCarloTrials: 0 } })
  const item = certificatesOf(analysis)[0]!
  pdf = await certificatePdf(item, 'A4')
  xml = certificateXml(item, analysis, null)!
}, 60_000)
afterAll(() => rmSync(folder, { recursive: true }))

describe('writeKey and readKey', () => {
  it.runIf(openssl)('make a key file that openssl opens, and read one that openssl made', async () => {
    writeFileSync(at('key.p12'), await writeKey(authority.signer, 'still water'))
    const out = run('openssl', 'pkcs12', '-in', at('key.p12'), '-passin', 'pass:still water', '-nodes')
    expect(out.said).toContain('BEGIN PRIVATE KEY')
    expect(out.said).toMatch(/subject=CN = "?C\. Hale/)
    for (const [name, algorithm] of [
      ['rsa', ['-newkey', 'rsa:2048']],
      ['ec', ['-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:P-256']],
    ] as const) {
      const [pem, own] = [at(`${name}.key`), at(`${name}.crt`)]
      const subject = ['-subj', `/CN=Key ${name}`, '-nodes', '-days', '9']
      run('openssl', 'req', '-x509', ...algorithm, ...subject, '-keyout', pem, '-out', own)
      const p12 = at(`${name}.p12`)
      run('openssl', 'pkcs12', '-export', '-inkey', pem, '-in', own, '-out', p12, '-passout', 'pass:word')
      const read = await readKey(readFileSync(p12), 'word')
      expect(read.certificate.subject.typesAndValues[0]!.value.valueBlock.value).toBe(`Key ${name}`)
      writeFileSync(at('m'), 'message')
      writeFileSync(at('m.p7s'), await signCms(readFileSync(at('m')), read, { utcUs: NOW }))
      const told = ['-inform', 'DER', '-in', at('m.p7s'), '-content', at('m'), '-CAfile', own]
      expect(run('openssl', 'cms', '-verify', '-binary', ...told).said).toMatch(/successful/)
    }
  })

  it('tell a wrong password from a file that is no key file, and refuse a key that does not fit or is out of date', async () => {
    const p12 = await writeKey(authority.signer, 'still water')
    await expect(readKey(p12, 'other')).rejects.toMatchObject({ code: 'wrong-password' })
    await expect(readKey(new TextEncoder().encode('not a key'), 'x')).rejects.toMatchObject({
      code: 'bad-key-file',
    })
    const foreign = await writeKey({ ...authority.signer, certificate: authority.stamper.certificate }, 'w')
    await expect(readKey(foreign, 'w')).rejects.toThrow(/None of the certificates in the key file belongs/)
    const late = NOW + 30 * 365.25 * 86_400e6
    expect(() => checkValid(key, late)).toThrow(/C\. Hale.* holds from \d{4}-\d\d-\d\d to .*Sign with a key/)
  })
})

describe('signCms', () => {
  it.runIf(openssl)('verifies untouched, and not with a byte changed or by another root', async () => {
    const data = new TextEncoder().encode('results')
    writeFileSync(at('d'), data)
    writeFileSync(at('d.p7s'), await signCms(data, key, { utcUs: NOW, stamp }))
    const told = (content: string, root: string) =>
      run(
        'openssl',
        'cms',
        '-verify',
        '-binary',
        '-inform',
        'DER',
        '-in',
        at('d.p7s'),
        '-content',
        content,
        '-CAfile',
        root,
      )
    expect(told(at('d'), at('root.pem')).said).toMatch(/successful/)
    writeFileSync(at('e'), 'resulta')
    expect(told(at('e'), at('root.pem')).fine).toBe(false)
    const other = await makeTrialAuthority('Nobody', 'Elsewhere', NOW)
    writeFileSync(at('other.pem'), other.rootPem)
    expect(told(at('d'), at('other.pem')).said).toMatch(/unable to get local issuer|self-signed|failure/i)
    const own = await verifyCms(readFileSync(at('d.p7s')), data, readRoots(authority.rootPem), NOW)
    expect(own).toMatchObject({ state: 'intact', trusted: true, inTime: true })
    const foreign = await verifyCms(readFileSync(at('d.p7s')), data, readRoots(other.rootPem), NOW)
    expect(verdictWords(foreign)).toMatch(/C\. Hale.*leads to no root known here/)
  })
})

describe('signPdf', () => {
  it.runIf(pdfsig)('is valid for pdfsig over the whole file, and not with one byte changed', async () => {
    const signed = await signPdf(pdf, key, stamp)
    writeFileSync(at('c.pdf'), signed)
    const { said } = run('pdfsig', at('c.pdf'))
    expect(said).toMatch(/Signer Certificate Common Name: C\. Hale/)
    expect(said).toMatch(/Signature Type: ETSI\.CAdES\.detached/)
    expect(said).toMatch(/Total document signed/)
    expect(said).toMatch(/Signature is Valid/)
    const changed = Buffer.from(signed)
    changed[changed.length - 200]! ^= 1
    writeFileSync(at('f.pdf'), changed)
    expect(run('pdfsig', at('f.pdf')).said).not.toMatch(/Signature is Valid/)
    expect((await verifyPdf(changed, [], NOW)).state).toBe('broken')
    expect(await verifyPdf(signed, readRoots(authority.rootPem), NOW)).toMatchObject({
      state: 'intact',
      trusted: true,
    })
    expect((await verifyPdf(signed, [], NOW)).stamped).not.toBeNull()
  })

  it('leaves under the signature the very file that printing the certificate gives', async () => {
    expect(Buffer.from(withoutSignature(await signPdf(pdf, key))).equals(Buffer.from(pdf))).toBe(true)
  })
})

describe('signXml', () => {
  it.runIf(xmlsec)('is valid for xmlsec1, properties and all, and not with one digit changed', async () => {
    const signed = await signXml(xml, key, NOW, stamp)
    const verify = (text: string) => {
      writeFileSync(at('c.xml'), text)
      const id = ['--id-attr:Id', 'http://uri.etsi.org/01903/v1.3.2#:SignedProperties']
      return run('xmlsec1', '--verify', '--trusted-pem', at('root.pem'), ...id, at('c.xml'))
    }
    expect(verify(signed).said).toMatch(/SignedInfo References \(ok\/all\): 2\/2/)
    const forged = signed.replace('<si:value>100.', '<si:value>101.')
    expect(forged).not.toBe(signed)
    expect(verify(forged).fine).toBe(false)
    expect(await verifyXml(signed, readRoots(authority.rootPem), NOW)).toMatchObject({
      state: 'intact',
      trusted: true,
    })
    expect((await verifyXml(forged, [], NOW)).state).toBe('broken')
    expect((await verifyXml(xml, [], NOW)).state).toBe('none')
    expect(withoutXmlSignature(signed)).toBe(xml)
  })

  it('counts a signature over a part of the document as none of the whole', async () => {
    const signed = await signXml(xml, key, NOW)
    const moved = signed.replace(/(<ds:Signature [\s\S]*<\/ds:Signature>)/, '<x xmlns="">$1</x>')
    expect((await verifyXml(moved, [], NOW)).state).toBe('broken')
  })
})

describe('askStamp', () => {
  it.runIf(openssl)(
    'takes a stamp of openssl, which openssl and this program find over the same bytes',
    async () => {
      const stamps = opensslStamps(folder)
      const { url, close } = await stampService(stamps.answer)
      const data = new TextEncoder().encode('head of the chain')
      const token = await askStamp(url, data, NOW)
      close()
      expect(Math.abs(readStamp(token).time.getTime() - Date.now())).toBeLessThan(60_000)
      writeFileSync(at('head'), data)
      const answer = ['-in', at('a.tsr'), '-CAfile', at('tsa.pem')]
      expect(run('openssl', 'ts', '-verify', '-data', at('head'), ...answer).said).toMatch(/Verification: OK/)
      await expect(checkStamp(token, new TextEncoder().encode('other'), NOW)).rejects.toThrow(
        /something else/,
      )
    },
  )

  it.runIf(openssl)('is content to openssl where the trial authority stamps', async () => {
    writeFileSync(at('t'), 'message')
    writeFileSync(at('t.der'), await trialStamp(authority.stamper, readFileSync(at('t')), NOW))
    const told = ['-in', at('t.der'), '-token_in', '-CAfile', at('root.pem')]
    expect(run('openssl', 'ts', '-verify', '-data', at('t'), ...told).said).toMatch(/Verification: OK/)
  })

  it('is not taken from one signature for another, nor from a service that nobody knows', async () => {
    const roots = readRoots(authority.rootPem)
    const other = await trialStamp(authority.stamper, new TextEncoder().encode('another'), NOW)
    const moved = await signXml(xml, key, NOW, async () => other)
    expect((await verifyXml(moved, roots, NOW)).state).toBe('broken')
    const cms = await signCms(new TextEncoder().encode('d'), key, { utcUs: NOW, stamp: async () => other })
    expect((await verifyCms(cms, new TextEncoder().encode('d'), roots, NOW)).state).toBe('broken')
    const stranger = await makeTrialAuthority('Nobody', 'Elsewhere', NOW)
    const foreign = await signXml(xml, key, NOW, (data) => trialStamp(stranger.stamper, data, NOW - 1e6))
    const verdict = await verifyXml(foreign, roots, NOW)
    expect(verdict).toMatchObject({ state: 'intact', trusted: true, stampTrusted: false })
    expect(verdictWords(verdict)).toMatch(/by a service that leads to no root known here/)
  })

  it('says what to do where nobody answers, where something else answers, and where a stamp is from the future', async () => {
    const data = new TextEncoder().encode('x')
    await expect(askStamp('http://127.0.0.1:9/', data, NOW)).rejects.toMatchObject({
      code: 'stamp-unreachable',
    })
    const { url, close } = await stampService(() => Buffer.from('<html></html>'))
    await expect(askStamp(url, data, NOW)).rejects.toThrow(/no stamping service of RFC 3161/)
    close()
    const early = await trialStamp(authority.stamper, data, NOW + 3600e6)
    await expect(checkStamp(early, data, NOW)).rejects.toMatchObject({ code: 'stamp-from-future' })
  })
})
