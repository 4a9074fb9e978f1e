import { describe, expect, it } from 'vitest'
import type { LinkSpec } from '../../../app/records/bench.ts'
import { loadProfiles } from '../../../drivers/index.ts'
import { Framer } from '../../../drivers/link/framer.ts'
import { framingOf, linksOf } from '../../../drivers/profile/reach.ts'

const { profiles } = await loadProfiles()
const profileOf = (id: string) => profiles.get(id)!.profile
const LINK_KINDS: readonly LinkSpec['kind'][] = ['tcp', 'serial', 'hislip', 'vxi-11', 'usbtmc', 'visa']
const MESSAGES: readonly string[] = ['hislip', 'vxi-11', 'usbtmc', 'visa']

describe('framingOf', () => {
  it.each(LINK_KINDS)(
    'ends a block of indefinite length with the message over %s where the bus tells its end',
    (kind) => {
      const meter = { ...profileOf('lab-dm-7'), framing: { ...profileOf('lab-dm-7').framing, blocks: true } }
      const replies: string[] = []
      const framer = new Framer(framingOf({ link: { kind } as never }, meter), {
        frame: (text) => replies.push(text),
        overflow: () => undefined,
      })
      // A byte of the block happens to be the terminator.
      framer.push(Buffer.from('#0ab\ncd\n', 'latin1'), true)
      expect(replies).toEqual(MESSAGES.includes(kind) ? ['#0ab\ncd'] : ['#0ab', 'cd'])
    },
  )
})

describe('linksOf', () => {
  it('says over what an instrument can be reached, by what its profile can speak', () => {
    expect(linksOf(profileOf('lab-rb-8'))).toEqual(['tcp', 'serial', ...MESSAGES])
    // It only talks, so there is no asking for its messages.
    expect(
      linksOf([...profiles.values()].find(({ profile }) => profile.identity.ask === undefined)!.profile),
    ).toEqual(['tcp', 'serial'])
    expect(
      linksOf([...profiles.values()].find(({ profile }) => profile.registers !== undefined)!.profile),
    ).toEqual(['modbus-tcp', 'modbus-rtu'])
  })
})
