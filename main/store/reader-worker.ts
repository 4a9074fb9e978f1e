import { closeFiles, readerTasks } from './reader-tasks.ts'
import { serveThread } from './serve-thread.ts'

// The thread in which old data is read.
serveThread(readerTasks, closeFiles)
