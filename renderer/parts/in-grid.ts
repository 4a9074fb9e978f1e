import { createContext, useContext } from 'react'

/** True within a table of cells: there the cells take the focus, and what can be pressed in them is no stop of its own. */
export const InGrid = createContext(false)
export const useInGrid = (): boolean => useContext(InGrid)
