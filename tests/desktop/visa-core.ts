// The part of the core that holds VISA links, for a test: asks one resource who it is as often as it is told to.
import type { MessagePortMain } from 'electron'
import { visaConnect } from '../../drivers/link/visa.ts'
import { startVisaBy } from '../../drivers/link/visa-peer.ts'
import { VisaChannels, type VisaNews } from '../../main/desktop/visa-channels.ts'
import { RealClock } from '../../main/station/clocks/real.ts'

interface Wanted {
  kind: 'open'
  library: string
  resource: string
}

const { parentPort } = process as unknown as {
  parentPort: {
    on(
      event: 'message',
      listener: (event: { data: Wanted | VisaNews; ports: MessagePortMain[] }) => void,
    ): void
    postMessage(message: object): void
  }
}
const channels = new VisaChannels((wish) => parentPort.postMessage(wish))
startVisaBy(channels.start)
const clock = new RealClock()

async function open({ resource, library }: Wanted): Promise<void> {
  const tell = (what: string, words: string) =>
    parentPort.postMessage({ kind: 'told', resource, what, words })
  const address = { resource, library, shared: false, terminator: '\n', connectMs: 2000, owner: resource }
  try {
    const wire = await visaConnect(address, clock)(
      {
        data: (chunk, ended) => {
          if (ended !== true) tell('answer', Buffer.from(chunk).toString('latin1').trim())
        },
        note: (words) => tell('note', words),
        serviceRequest: () => undefined,
        closed: ({ message }) => tell('closed', message),
      },
      new AbortController().signal,
    )
    wire.write('*IDN?\n', 200)
  } catch (fault) {
    tell('refused', (fault as Error).message)
  }
}

parentPort.on('message', ({ data, ports }) => {
  if (data.kind === 'open') void open(data)
  else channels.hear(data, ports)
})
