import { at, first, needed } from '../../app/base/lists.ts'
import {
  isVisaError,
  VISA_ATTRIBUTE,
  VISA_LOCK,
  VISA_REMOTE,
  VISA_STATUS,
  VISA_TEXT_BYTES,
  VISA_TRIGGER,
  type VisaAsk,
  type VisaTold,
} from '../../app/buses/visa.ts'
import { loadVisa, textUpToNul, type VisaLibrary } from './visa-library.ts'

// The process that holds a VISA library for one link. Its calls wait inside the library, and a library that hangs or crashes
// takes this process with it and nothing else.

/** How long the library may wait for the lock of an instrument, ms. */
const LOCK_MS = 500

let library: VisaLibrary | undefined
let manager = 0
let session = 0

/** One end of a channel, as Electron gives it to a utility process. */
interface Port {
  on(event: 'message', listener: (event: { data: Question }) => void): void
  on(event: 'close', listener: () => void): void
  postMessage(answer: object): void
  start(): void
}
interface Question {
  readonly id: number
  readonly ask: VisaAsk
}
const { parentPort } = process as {
  parentPort?: { once(event: 'message', listener: (event: { ports: Port[] }) => void): void }
}

if (parentPort === undefined) {
  process.on('message', ({ id, ask }: Question) => {
    process.send?.({ id, told: answer(ask) })
    if (ask.ask === 'close') process.disconnect()
  })
  // Whoever asked is gone: nothing is to be done any more.
  process.on('disconnect', () => process.exit())
} else {
  // A utility process of the desktop: the shell hands over the end of a channel whose other end the core has.
  parentPort.once('message', ({ ports }) => {
    const port = first(ports)
    port.on('message', ({ data: { id, ask } }) => {
      port.postMessage({ id, told: answer(ask) })
      if (ask.ask === 'close') process.exit()
    })
    port.on('close', () => process.exit())
    port.start()
  })
}

function answer(ask: VisaAsk): VisaTold {
  try {
    return act(ask)
  } catch (fault) {
    return { status: -1, words: (fault as Error).message, call: 'load', isMissing: library === undefined }
  }
}

/** The library, which `begin` has loaded before anything else is asked of it. */
const loaded = () => needed(library, 'VISA library')

function act(ask: VisaAsk): VisaTold {
  switch (ask.ask) {
    case 'open':
      return open(ask)
    case 'write':
      return write(ask.bytes, ask.waitMs)
    case 'read':
      return read(ask.most, ask.waitMs)
    case 'clear':
      return told('viClear', loaded().clear(session))
    case 'trigger':
      return told('viAssertTrigger', loaded().assertTrigger(session, VISA_TRIGGER.usual))
    case 'status': {
      const byte = new Uint16Array(1)
      return { ...told('viReadSTB', loaded().readStatus(session, byte)), byte: at(byte, 0) & 0xff }
    }
    case 'close':
      return close()
    case 'find':
      return find(ask.library)
  }
}

function begin(path: string | undefined): VisaTold {
  library = loadVisa(path)
  const made = new Uint32Array(1)
  const status = library.openDefaultRM(made)
  manager = at(made, 0)
  return told('viOpenDefaultRM', status)
}

function open({ library: path, resource, shared, openMs }: Extract<VisaAsk, { ask: 'open' }>): VisaTold {
  const begun = begin(path)
  if (isVisaError(begun.status)) return begun
  const made = new Uint32Array(1)
  const opened = told('viOpen', loaded().open(manager, resource, VISA_LOCK.none, openMs, made))
  if (isVisaError(opened.status)) return opened
  session = at(made, 0)
  if (!shared) {
    const locked = told('viLock', loaded().lock(session, VISA_LOCK.exclusive, LOCK_MS))
    if (isVisaError(locked.status) && locked.status >>> 0 !== VISA_STATUS.notSupported) return locked
  }
  // A message ends with END alone; what a kind of interface has no attribute for it does not need.
  loaded().setAttribute(session, VISA_ATTRIBUTE.sendEnd, 1)
  loaded().setAttribute(session, VISA_ATTRIBUTE.termCharEnabled, 0)
  loaded().controlRemote(session, VISA_REMOTE.assertAddress)
  return opened
}

function write(bytes: Uint8Array, waitMs: number): VisaTold {
  loaded().setAttribute(session, VISA_ATTRIBUTE.timeout, waitMs)
  const taken = new Uint32Array(1)
  const done = told('viWrite', loaded().write(session, bytes, bytes.length, taken))
  if (isVisaError(done.status) || taken[0] === bytes.length) return done
  return {
    ...done,
    status: VISA_STATUS.timeout | 0,
    words: `${taken[0]} of ${bytes.length} bytes were taken`,
  }
}

function read(most: number, waitMs: number): VisaTold {
  loaded().setAttribute(session, VISA_ATTRIBUTE.timeout, waitMs)
  const into = new Uint8Array(most)
  const got = new Uint32Array(1)
  const done = told('viRead', loaded().read(session, into, most, got))
  return { ...done, data: into.slice(0, got[0]), isPart: done.status >>> 0 === VISA_STATUS.maxCount }
}

function close(): VisaTold {
  if (session !== 0) {
    loaded().controlRemote(session, VISA_REMOTE.addressToLocal)
    loaded().unlock(session)
    loaded().close(session)
  }
  return told('viClose', manager === 0 ? VISA_STATUS.success : loaded().close(manager))
}

function find(path: string | undefined): VisaTold {
  const begun = begin(path)
  if (isVisaError(begun.status)) return begun
  const [list, count] = [new Uint32Array(1), new Uint32Array(1)]
  const name = new Uint8Array(VISA_TEXT_BYTES)
  const first = told('viFindRsrc', loaded().findFirst(manager, '?*INSTR', list, count, name))
  if (first.status >>> 0 === VISA_STATUS.notFound) return { ...first, status: VISA_STATUS.success, names: [] }
  if (isVisaError(first.status)) return first
  const names = [textUpToNul(name)]
  while (names.length < at(count, 0) && !isVisaError(loaded().findNext(at(list, 0), name)))
    names.push(textUpToNul(name))
  return { ...first, names }
}

function told(call: string, status: number): VisaTold {
  if (!isVisaError(status)) return { status, words: '', call }
  return { status, words: loaded().describe(session || manager, status), call }
}
