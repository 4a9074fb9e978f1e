/** What another bench's session is called here where one of ours has its id: the beginning of its station's UUID behind it. */
export const ending = (station: string) => `.${station.slice(0, 8)}`

/** What the bench that measured a session calls it. */
export const ownIdOf = (id: string, station: string) =>
  id.endsWith(ending(station)) ? id.slice(0, -ending(station).length) : id
