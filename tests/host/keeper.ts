import type { Services } from '../../main/host/services.ts'

/** Who may do everything at a station of the tests. */
export const KEEPER = { name: 'C. Keeper', password: 'a long enough one' }

export const enterKeeper = (services: Services) => services.people.enterFirst(KEEPER.name, KEEPER.password)
