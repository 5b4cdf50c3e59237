/* helper.c - four processes: who asks, the keeper, the helper, a worker for each piece of work.
 *
 * Keeper and helper hold the same socket, so that what is asked while no helper is
 * there waits in it for the next one.
 *
 * Who asks makes a pair of sockets and hands one end to the helper; the worker
 * inherits it: a size and the job go in, a size and the answer come out. What ends
 * early shows as an end of file. The helper reads nothing but such ends, and says by one
 * byte that it has taken one.
 */
#include "os/helper.h"

#include <errno.h>
#include <fcntl.h>
#include <linux/audit.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <poll.h>
#include <pthread.h>
#include <signal.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/mem.h"
#include "os/clock.h"
#include "os/log.h"

#define SOCKET 3                    /* of the worker, the only one it keeps */
#define JOB_MOST (64 * 1024 * 1024) /* bytes */
#define ANSWER_MOST (16 * 1024 * 1024)
#define WINDOW_SECONDS 60
#define WAIT_SECONDS 60 /* without a byte moving, beside the worker's own limit */

struct helper {
	pthread_mutex_t lock; /* guards the socket: an answer is awaited before the next job */
	int socket;
	pid_t process;
	unsigned seconds;
};

/* ---- the worker ---- */

#if defined __x86_64__
#define MACHINE AUDIT_ARCH_X86_64
#elif defined __aarch64__
#define MACHINE AUDIT_ARCH_AARCH64
#elif defined __riscv && __riscv_xlen == 64
#define MACHINE AUDIT_ARCH_RISCV64
#else
#define MACHINE 0 /* its calls have other names */
#endif

/* Memory, the socket that is open, an end; anything else kills. */
static bool fence_calls(void)
{
#if MACHINE
	static const unsigned short allowed[] = {
	        SYS_read,         SYS_write,         SYS_brk,         SYS_mmap,
	        SYS_munmap,       SYS_mremap,        SYS_mprotect,    SYS_futex,
	        SYS_madvise,      SYS_getrandom,     SYS_exit,        SYS_exit_group,
	        SYS_rt_sigreturn, SYS_clock_gettime, SYS_sigaltstack, /* sanitizers look at it when
	                                                                 a decoder jumps out, and at
	                                                                 the end */
	};
	enum { COUNT = sizeof allowed / sizeof allowed[0] };
	struct sock_filter code[COUNT + 6] = {
	        BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(struct seccomp_data, arch)),
	        BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, MACHINE, 1, 0),
	        BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_KILL_PROCESS),
	        BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(struct seccomp_data, nr)),
	};
	struct sock_fprog program = {COUNT + 6, code};

	for (unsigned char i = 0; i < COUNT; i++)
		code[4 + i] = (struct sock_filter)BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, allowed[i],
		                                           (unsigned char)(COUNT - i), 0);
	code[4 + COUNT] = (struct sock_filter)BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_KILL_PROCESS);
	code[5 + COUNT] = (struct sock_filter)BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW);
	return prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &program) == 0;
#else
	return true;
#endif
}

/* Bytes of addresses that the process has now; proc(5). */
static size_t memory_now(void)
{
	char text[100] = "";
	int file = open("/proc/self/statm", O_RDONLY | O_CLOEXEC);
	ssize_t len = file < 0 ? -1 : read(file, text, sizeof text - 1);

	if (file >= 0)
		close(file);
	return len < 0 ? 0 : (size_t)strtoul(text, NULL, 10) * (size_t)sysconf(_SC_PAGESIZE);
}

static bool limit(int what, rlim_t most)
{
	const struct rlimit limits = {most, most};

	return setrlimit(what, &limits) == 0;
}

/* The first to go when memory runs short; where that cannot be said, no harm. */
static void offer_first(void)
{
	int file = open("/proc/self/oom_score_adj", O_WRONLY | O_CLOEXEC);

	if (file >= 0) {
		(void)!write(file, "1000", 4);
		close(file);
	}
}

static bool give_up_rights(const struct helper_rules *rules, int socket)
{
	offer_first();
	(void)!nice(10);
	if (dup2(socket, SOCKET) != SOCKET || close_range(SOCKET + 1, ~0U, 0) != 0)
		return false;
	if (HELPER_LIMITS_MEMORY && !limit(RLIMIT_AS, memory_now() + rules->memory))
		return false;
	return limit(RLIMIT_CPU, rules->seconds) && limit(RLIMIT_CORE, 0) &&
	       limit(RLIMIT_FSIZE, 0) && limit(RLIMIT_NOFILE, SOCKET + 1) &&
	       limit(RLIMIT_NPROC, 0) && prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 &&
	       fence_calls();
}

static bool read_all(void *to, size_t len)
{
	for (size_t done = 0; done < len;) {
		ssize_t got = read(SOCKET, (char *)to + done, len - done);

		if (got <= 0)
			return false;
		done += (size_t)got;
	}
	return true;
}

static bool write_all(const void *from, size_t len)
{
	for (size_t done = 0; done < len;) {
		ssize_t gone = write(SOCKET, (const char *)from + done, len - done);

		if (gone <= 0)
			return false;
		done += (size_t)gone;
	}
	return true;
}

static void work(const struct helper_rules *rules, int socket)
{
	struct text answer = TEXT_EMPTY;
	uint64_t size = 0;
	void *job;

	if (!give_up_rights(rules, socket) || !read_all(&size, sizeof size) || size > JOB_MOST)
		return;
	job = malloc(size ? size : 1);
	if (!job || !read_all(job, size) || !rules->work(job, size, &answer) ||
	    text_failed(&answer))
		return;
	size = answer.len;
	if (write_all(&size, sizeof size))
		(void)!write_all(answer.at, answer.len);
}

/* ---- the helper ---- */

/* The end of a pair that was handed over; -1: the asker is gone. */
static int take_end(int socket)
{
	char byte, room[CMSG_SPACE(sizeof(int))];
	struct iovec line = {&byte, 1};
	struct msghdr message = {.msg_iov = &line,
	                         .msg_iovlen = 1,
	                         .msg_control = room,
	                         .msg_controllen = sizeof room};
	struct cmsghdr *head;
	ssize_t got;
	int end = -1;

	do
		got = recvmsg(socket, &message, MSG_CMSG_CLOEXEC);
	while (got < 0 && errno == EINTR);
	head = got > 0 ? CMSG_FIRSTHDR(&message) : NULL;
	if (head && head->cmsg_level == SOL_SOCKET && head->cmsg_type == SCM_RIGHTS)
		memcpy(&end, CMSG_DATA(head), sizeof end);
	return end;
}

static void serve_one(const struct helper_rules *rules, int end)
{
	pid_t worker;

	if (send(end, "", 1, MSG_NOSIGNAL) != 1) {
		close(end);
		return;
	}
	worker = fork();
	if (worker == 0) {
		work(rules, end);
		_exit(0);
	}
	close(end);
	while (worker > 0 && waitpid(worker, NULL, 0) < 0 && errno == EINTR)
		;
}

/* ---- the keeper ---- */

/* Until then nobody is served, and nobody waits. False: the maker is gone. */
static bool rest(int64_t until)
{
	struct pollfd asked = {.fd = SOCKET, .events = POLLIN};
	int64_t left;

	while ((left = until - clock_steady()) > 0) {
		int end;

		if (poll(&asked, 1, (int)left) <= 0)
			continue;
		end = take_end(SOCKET);
		if (end < 0)
			return false;
		close(end);
	}
	return true;
}

/* 0 when the helper saw that its maker is gone. */
static int run_helper(const struct helper_rules *rules)
{
	pid_t helper = fork();
	int how = -1, end;

	if (helper == 0) {
		prctl(PR_SET_NAME, "fairlead-helper");
		while ((end = take_end(SOCKET)) >= 0)
			serve_one(rules, end);
		_exit(0);
	}
	while (helper > 0 && waitpid(helper, &how, 0) < 0 && errno == EINTR)
		;
	return how;
}

/* Of what it was forked from it keeps nothing open, standard output and error
 * neither: who reads these waits for their end. Signals to end come to its maker too. */
static void be_keeper(const struct helper_rules *rules, int socket)
{
	int64_t window = (int64_t)(rules->window ? rules->window : WINDOW_SECONDS) * 1000;
	int64_t begun[HELPER_STARTS];
	int nothing = open("/dev/null", O_RDWR);

	signal(SIGINT, SIG_IGN);
	signal(SIGTERM, SIG_IGN);
	for (int at = 0; at < SOCKET; at++)
		if (nothing < 0 || dup2(nothing, at) < 0)
			close(at);
	if (dup2(socket, SOCKET) != SOCKET || close_range(SOCKET + 1, ~0U, 0) != 0)
		return;
	prctl(PR_SET_NAME, "fairlead-keeper");
	for (size_t n = 0;; n++) {
		int64_t *at = &begun[n % HELPER_STARTS];

		if (n >= HELPER_STARTS && !rest(*at + window))
			return;
		*at = clock_steady();
		if (run_helper(rules) == 0)
			return;
	}
}

enum status helper_start(const struct helper_rules *rules, struct helper **out)
{
	struct helper *helper = mem_zero(sizeof *helper);
	int pair[2];

	if (!helper)
		return ST_NOMEM;
	if (socketpair(AF_UNIX, SOCK_SEQPACKET | SOCK_CLOEXEC, 0, pair) != 0) {
		mem_free(helper);
		return ST_IO;
	}
	fflush(NULL); /* else both would write what waits */
	helper->process = fork();
	if (helper->process == 0) {
		be_keeper(rules, pair[1]);
		_exit(0);
	}
	close(pair[1]);
	helper->socket = pair[0];
	helper->seconds = rules->seconds;
	pthread_mutex_init(&helper->lock, NULL);
	if (helper->process < 0) {
		helper_stop(helper);
		return ST_IO;
	}
	if (!MACHINE)
		log_line(LOG_LEVEL_WARNING,
		         "on this kind of machine the helper's calls are not fenced");
	*out = helper;
	return ST_OK;
}

void helper_stop(struct helper *helper)
{
	if (!helper)
		return;
	close(helper->socket);
	while (helper->process > 0 && waitpid(helper->process, NULL, 0) < 0 && errno == EINTR)
		;
	pthread_mutex_destroy(&helper->lock);
	mem_free(helper);
}

/* ---- who asks ---- */

static bool hand_over(int socket, int end)
{
	char byte = 0;
	union {
		struct cmsghdr head; /* for its alignment */
		char room[CMSG_SPACE(sizeof(int))];
	} control = {.room = {0}};
	struct iovec line = {&byte, 1};
	struct msghdr message = {.msg_iov = &line,
	                         .msg_iovlen = 1,
	                         .msg_control = &control,
	                         .msg_controllen = sizeof control};
	struct cmsghdr *head = CMSG_FIRSTHDR(&message);

	head->cmsg_level = SOL_SOCKET;
	head->cmsg_type = SCM_RIGHTS;
	head->cmsg_len = CMSG_LEN(sizeof end);
	memcpy(CMSG_DATA(head), &end, sizeof end);
	return sendmsg(socket, &message, MSG_NOSIGNAL) == 1;
}

static bool send_part(int socket, const void *at, size_t len)
{
	for (size_t done = 0; done < len;) {
		ssize_t gone = send(socket, (const char *)at + done, len - done, MSG_NOSIGNAL);

		if (gone < 0 && errno == EINTR)
			continue;
		if (gone <= 0)
			return false;
		done += (size_t)gone;
	}
	return true;
}

static bool send_job(int socket, const struct helper_part *parts, size_t count)
{
	uint64_t size = 0;
	bool sent;

	for (size_t i = 0; i < count; i++)
		size += parts[i].len;
	sent = send_part(socket, &size, sizeof size);
	for (size_t i = 0; sent && i < count; i++)
		sent = send_part(socket, parts[i].at, parts[i].len);
	return sent;
}

/* Up to len bytes, fewer when it ends before. */
static size_t receive(int socket, void *to, size_t len)
{
	size_t done = 0;

	while (done < len) {
		ssize_t got = recv(socket, (char *)to + done, len - done, 0);

		if (got < 0 && errno == EINTR)
			continue;
		if (got <= 0)
			break;
		done += (size_t)got;
	}
	return done;
}

static enum status receive_answer(int socket, struct text *answer)
{
	uint64_t size = 0;
	char block[16 * 1024];

	if (receive(socket, &size, sizeof size) != sizeof size || size > ANSWER_MOST)
		return ST_DENIED;
	while (size > 0) {
		size_t want = size < sizeof block ? (size_t)size : sizeof block;

		if (receive(socket, block, want) != want)
			return ST_DENIED;
		text_add_bytes(answer, block, want);
		size -= want;
	}
	return text_failed(answer) ? ST_NOMEM : ST_OK;
}

static enum status ask(struct helper *helper, const struct helper_part *parts, size_t count,
                       struct text *answer)
{
	const struct timeval patience = {WAIT_SECONDS + (time_t)helper->seconds, 0};
	enum status status = ST_IO;
	int pair[2];
	bool sent;
	char taken;

	if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, pair) != 0)
		return ST_IO;
	setsockopt(pair[0], SOL_SOCKET, SO_SNDTIMEO, &patience, sizeof patience);
	setsockopt(pair[0], SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
	sent = hand_over(helper->socket, pair[1]);
	close(pair[1]);
	if (sent && receive(pair[0], &taken, 1) == 1)
		status = send_job(pair[0], parts, count) ? receive_answer(pair[0], answer)
		                                         : ST_DENIED;
	close(pair[0]);
	return status;
}

enum status helper_ask(struct helper *helper, const struct helper_part *parts, size_t count,
                       struct text *answer)
{
	enum status status;

	pthread_mutex_lock(&helper->lock);
	status = ask(helper, parts, count, answer);
	if (status == ST_IO) /* perhaps a helper took it while it died */
		status = ask(helper, parts, count, answer);
	pthread_mutex_unlock(&helper->lock);
	return status;
}
