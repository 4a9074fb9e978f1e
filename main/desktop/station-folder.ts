import { existsSync, mkdirSync, readdirSync, readFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { z } from 'zod'
import { writeThenRename } from '../store/export/file.ts'

const Choice = z.object({ folder: z.string().min(1) })

/** Which data folder the program opens: the one that a person chose last, or the usual one. */
export class StationFolder {
  readonly #file: string
  readonly #usual: string
  #chosen: string | undefined

  /** `file` keeps the choice from one start to the next; `given`: the folder was named at this start and not by a choice. */
  constructor(file: string, usual: string, given: boolean) {
    this.#file = file
    this.#usual = usual
    this.#chosen = given ? undefined : read(file)
  }

  get path(): string {
    return this.#chosen ?? this.#usual
  }

  /**
   * Why it cannot be opened, in words: a chosen folder that is away, on a disk that is not connected say, must not be made anew
   * as an empty station.
   */
  get away(): string | undefined {
    if (this.#chosen === undefined || existsSync(this.#chosen)) return undefined
    return `The data folder ${this.#chosen} is not there. Connect its disk, or open another folder.`
  }

  /** Why a folder is not to be chosen, in words; undefined where it may be: a station's, or an empty one for a new station. */
  refusal(folder: string): string | undefined {
    const names = readdirSync(folder)
    const isStation = names.includes('station.db') || existsSync(join(folder, 'sessions'))
    if (names.length === 0 || isStation) return undefined
    return `${folder} holds other things and no station. Choose a station's data folder, or an empty one for a new station.`
  }

  choose(folder: string): void {
    mkdirSync(dirname(this.#file), { recursive: true, mode: 0o700 })
    writeThenRename(this.#file, (out) => out.write(JSON.stringify({ folder })), 0o600)
    this.#chosen = folder
  }
}

function read(file: string): string | undefined {
  if (!existsSync(file)) return undefined
  try {
    return Choice.parse(JSON.parse(readFileSync(file, 'utf8'))).folder
  } catch {
    // What cannot be read names no folder: the usual one is opened.
    return undefined
  }
}
