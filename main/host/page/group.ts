import type { Group } from '../gate/limits.ts'
import type { Role } from './tokens.ts'

/** Whose limits a window shares. */
export const groupOf = (role: Role): Group => (role === 'watcher' ? 'onlookers' : 'members')
