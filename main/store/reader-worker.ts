import { TaskRunner } from './reader-tasks.ts'
import { serveThread } from './serve-thread.ts'

// The thread in which old data is read.
serveThread(new TaskRunner())
