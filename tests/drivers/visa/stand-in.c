/* A stand-in for a VISA library (VPP-4.3.2: the functions and their C types), for tests alone. An instrument named
   TCPIP0::127.0.0.1::PORT::INSTR is a line of text at that port; the others do one thing wrong each:
   HANG, CRASH (on a read), LOCKED, SHORT (a device clear that it does not know). */
#include <poll.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <arpa/inet.h>
#include <netinet/tcp.h>
#include <sys/socket.h>

#define TMO ((int32_t)0xBFFF0015)
#define LOCKED ((int32_t)0xBFFF000F)
#define NFOUND ((int32_t)0xBFFF0011)
#define NSUP ((int32_t)0xBFFF0067)
#define CONN_LOST ((int32_t)0xBFFF00A6)
#define MAX_CNT 0x3FFF0006

static struct { int fd, port, locked; uint32_t ms; char name[256]; } open_[8];
static int count_;

int32_t viOpenDefaultRM(uint32_t *vi) { *vi = 100; return 0; }

int32_t viOpen(uint32_t rm, const char *name, uint32_t mode, uint32_t ms, uint32_t *vi) {
  int port = 0;
  (void)rm; (void)mode; (void)ms;
  if (count_ >= 8) return NFOUND;
  strncpy(open_[count_].name, name, 255);
  open_[count_].fd = -1;
  open_[count_].ms = 2000;
  if (sscanf(name, "TCPIP0::127.0.0.1::%d::INSTR", &port) == 1) {
    struct sockaddr_in at = { .sin_family = AF_INET, .sin_port = htons((uint16_t)port), .sin_addr = { htonl(INADDR_LOOPBACK) } };
    int one = 1, fd = socket(AF_INET, SOCK_STREAM, 0);
    if (connect(fd, (struct sockaddr *)&at, sizeof at) != 0) { close(fd); return NFOUND; }
    setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &one, sizeof one);
    open_[count_].fd = fd;
    open_[count_].port = port;
  } else if (strncmp(name, "FAULT::", 7) != 0) return NFOUND;
  *vi = (uint32_t)(++count_);
  return 0;
}

int32_t viLock(uint32_t vi, uint32_t type, uint32_t ms, const char *key, char *access) {
  (void)type; (void)ms; (void)key; (void)access;
  return strstr(open_[vi - 1].name, "LOCKED") ? LOCKED : 0;
}
int32_t viUnlock(uint32_t vi) { (void)vi; return 0; }
int32_t viSetAttribute(uint32_t vi, uint32_t attribute, uintptr_t value) {
  if (attribute == 0x3FFF001A) open_[vi - 1].ms = (uint32_t)value;
  return 0;
}
int32_t viGpibControlREN(uint32_t vi, uint16_t mode) { (void)vi; (void)mode; return NSUP; }

int32_t viWrite(uint32_t vi, const uint8_t *buf, uint32_t count, uint32_t *taken) {
  if (open_[vi - 1].fd >= 0 && send(open_[vi - 1].fd, buf, count, MSG_NOSIGNAL) != (ssize_t)count) return CONN_LOST;
  *taken = count;
  return 0;
}

int32_t viRead(uint32_t vi, uint8_t *buf, uint32_t most, uint32_t *got) {
  struct pollfd line = { .fd = open_[vi - 1].fd, .events = POLLIN };
  *got = 0;
  if (strstr(open_[vi - 1].name, "HANG")) for (;;) pause();
  if (strstr(open_[vi - 1].name, "CRASH")) *(volatile int *)0 = 1;
  if (line.fd < 0) { usleep(open_[vi - 1].ms * 1000); return TMO; }
  while (*got < most) {
    if (poll(&line, 1, (int)open_[vi - 1].ms) <= 0) return TMO;
    if (recv(line.fd, buf + *got, 1, 0) != 1) return CONN_LOST;
    if (buf[(*got)++] == '\n') return 0;
  }
  return MAX_CNT;
}

int32_t viReadSTB(uint32_t vi, uint16_t *status) {
  struct pollfd line = { .fd = open_[vi - 1].fd, .events = POLLIN };
  *status = line.fd >= 0 && poll(&line, 1, 0) > 0 ? 0x10 : 0;
  return 0;
}

int32_t viClear(uint32_t vi) {
  char waste[4096];
  if (strstr(open_[vi - 1].name, "SHORT")) return NSUP;
  if (open_[vi - 1].fd >= 0) while (recv(open_[vi - 1].fd, waste, sizeof waste, MSG_DONTWAIT) > 0) continue;
  return 0;
}

/* A group trigger is to the instrument what *TRG is (IEEE 488.2, 10.37; number from memory). */
int32_t viAssertTrigger(uint32_t vi, uint16_t protocol) {
  if (protocol != 0 || strstr(open_[vi - 1].name, "SHORT")) return NSUP;
  return open_[vi - 1].fd >= 0 && send(open_[vi - 1].fd, "*TRG\n", 5, 0) == 5 ? 0 : CONN_LOST;
}

int32_t viClose(uint32_t vi) {
  if (vi >= 1 && vi <= (uint32_t)count_ && open_[vi - 1].fd >= 0) close(open_[vi - 1].fd);
  return 0;
}

int32_t viFindRsrc(uint32_t rm, const char *pattern, uint32_t *list, uint32_t *count, char *desc) {
  (void)rm; (void)pattern;
  *list = 200;
  *count = 2;
  strcpy(desc, "GPIB0::5::INSTR");
  return 0;
}
int32_t viFindNext(uint32_t list, char *desc) { (void)list; strcpy(desc, "TCPIP0::127.0.0.1::5301::INSTR"); return 0; }

int32_t viStatusDesc(uint32_t vi, int32_t status, char *desc) {
  (void)vi;
  snprintf(desc, 256, "%s", status == TMO ? "Timeout" : status == LOCKED ? "Resource is locked" : status == NFOUND ? "No such resource" : "Other");
  return 0;
}
