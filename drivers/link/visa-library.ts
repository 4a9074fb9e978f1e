import koffi from 'koffi'
import { VISA_TEXT_BYTES } from '../../app/buses/visa.ts'

/** The functions of a VISA library that are used (VPP-4.3.2), with what they write into in place of pointers. */
export interface VisaLibrary {
  openDefaultRM(session: Uint32Array): number
  open(manager: number, resource: string, lock: number, openMs: number, session: Uint32Array): number
  lock(session: number, kind: number, waitMs: number): number
  unlock(session: number): number
  setAttribute(session: number, attribute: number, value: number): number
  controlRemote(session: number, mode: number): number
  write(session: number, bytes: Uint8Array, count: number, taken: Uint32Array): number
  read(session: number, into: Uint8Array, most: number, got: Uint32Array): number
  readStatus(session: number, status: Uint16Array): number
  clear(session: number): number
  assertTrigger(session: number, protocol: number): number
  close(session: number): number
  findFirst(manager: number, pattern: string, list: Uint32Array, count: Uint32Array, name: Uint8Array): number
  findNext(list: number, name: Uint8Array): number
  describe(session: number, status: number): string
}

/** What the library is called where nobody says it: 64-bit on Windows, a shared object on Linux, a framework on macOS. */
const NAMES: Partial<Record<NodeJS.Platform, readonly string[]>> = {
  win32: ['visa64.dll'],
  linux: ['libvisa.so', 'libvisa.so.0'],
  darwin: ['/Library/Frameworks/VISA.framework/VISA'],
}

/** Loads the library; throws where there is none, or where it lacks a function. */
export function loadVisa(path: string | undefined): VisaLibrary {
  const lib = loadFirst(path === undefined ? (NAMES[process.platform] ?? []) : [path])
  const describe = lib.func('int32_t viStatusDesc(uint32_t vi, int32_t status, uint8_t *desc)')
  const lock = lib.func(
    'int32_t viLock(uint32_t vi, uint32_t type, uint32_t ms, const char *key, uint8_t *access)',
  )
  return {
    openDefaultRM: lib.func('int32_t viOpenDefaultRM(uint32_t *vi)'),
    open: lib.func('int32_t viOpen(uint32_t rm, const char *name, uint32_t mode, uint32_t ms, uint32_t *vi)'),
    lock: (session, kind, waitMs) => lock(session, kind, waitMs, null, new Uint8Array(VISA_TEXT_BYTES)),
    unlock: lib.func('int32_t viUnlock(uint32_t vi)'),
    // An attribute is as wide as a pointer (ViAttrState).
    setAttribute: lib.func('int32_t viSetAttribute(uint32_t vi, uint32_t attribute, uintptr_t value)'),
    controlRemote: lib.func('int32_t viGpibControlREN(uint32_t vi, uint16_t mode)'),
    write: lib.func('int32_t viWrite(uint32_t vi, const uint8_t *buf, uint32_t count, uint32_t *taken)'),
    read: lib.func('int32_t viRead(uint32_t vi, uint8_t *buf, uint32_t count, uint32_t *got)'),
    readStatus: lib.func('int32_t viReadSTB(uint32_t vi, uint16_t *status)'),
    clear: lib.func('int32_t viClear(uint32_t vi)'),
    assertTrigger: lib.func('int32_t viAssertTrigger(uint32_t vi, uint16_t protocol)'),
    close: lib.func('int32_t viClose(uint32_t vi)'),
    findFirst: lib.func(
      'int32_t viFindRsrc(uint32_t rm, const char *expr, uint32_t *list, uint32_t *count, uint8_t *desc)',
    ),
    findNext: lib.func('int32_t viFindNext(uint32_t list, uint8_t *desc)'),
    describe: (session, status) => {
      const text = new Uint8Array(VISA_TEXT_BYTES)
      describe(session, status, text)
      return textUpToNul(text)
    },
  }
}

function loadFirst(paths: readonly string[]) {
  let fault: unknown = new Error(`no VISA library is known on ${process.platform}`)
  for (const path of paths) {
    try {
      return koffi.load(path)
    } catch (error) {
      fault = error
    }
  }
  throw fault
}

export function textUpToNul(bytes: Uint8Array): string {
  const end = bytes.indexOf(0)
  return Buffer.from(end < 0 ? bytes : bytes.subarray(0, end)).toString('latin1')
}
