/* limits.c - token buckets, each kept as one number: when it will be full.
 *
 * Taking a try moves that time on by the interval; a try is refused when it
 * would move further ahead of now than the burst allows. (The same arithmetic
 * as the generic cell rate algorithm of ITU-T I.371.) A bucket whose time has
 * passed is full, which is what an absent one is: so any such slot is free.
 */
#include "web/http/limits.h"

#include <pthread.h>
#include <string.h>

#include "base/mem.h"
#include "os/digest.h"
#include "os/random.h"

#define SETS 1024
#define WAYS 8

struct bucket {
	struct digest key;
	int64_t full_at; /* milliseconds */
};

struct limits {
	pthread_mutex_t lock;
	unsigned char secret[DIGEST_SIZE];
	struct bucket sets[SETS][WAYS];
};

struct rate {
	int64_t burst;    /* tries in a full bucket */
	int64_t interval; /* milliseconds until one more */
};

static const struct rate rates[LIMIT_KINDS] = {
        [LIMIT_POST] = {300, 200},
        [LIMIT_GUARDED] = {30, 6000},
        [LIMIT_PIXELS] = {LIMIT_PIXELS_BURST, 400},
};

struct limits *limits_new(void)
{
	struct limits *limits = mem_zero(sizeof *limits);

	if (!limits)
		return NULL;
	if (pthread_mutex_init(&limits->lock, NULL) != 0) {
		mem_free(limits);
		return NULL;
	}
	random_bytes(limits->secret, sizeof limits->secret);
	return limits;
}

void limits_free(struct limits *limits)
{
	if (!limits)
		return;
	pthread_mutex_destroy(&limits->lock);
	mem_free(limits);
}

static struct digest key_digest(const struct limits *limits, enum limit_kind kind, const char *key)
{
	unsigned char secret[DIGEST_SIZE];

	memcpy(secret, limits->secret, sizeof secret);
	secret[0] ^= (unsigned char)kind;
	return digest_keyed(secret, sizeof secret, key, strlen(key));
}

/* The key's bucket, or the one in its set that was longest at rest. */
static struct bucket *find(struct limits *limits, const struct digest *key)
{
	struct bucket *set = limits->sets[(key->bytes[0] | key->bytes[1] << 8) % SETS];
	struct bucket *oldest = &set[0];

	for (size_t i = 0; i < WAYS; i++) {
		if (memcmp(&set[i].key, key, sizeof *key) == 0)
			return &set[i];
		if (set[i].full_at < oldest->full_at)
			oldest = &set[i];
	}
	return oldest;
}

enum status limits_take_many(struct limits *limits, enum limit_kind kind, const char *key,
                             int64_t amount, int64_t at, int64_t *wait)
{
	const struct rate *rate = &rates[kind];
	struct digest digest = key_digest(limits, kind, key);
	int64_t full_at = at;
	int64_t ahead;
	struct bucket *bucket;

	pthread_mutex_lock(&limits->lock);
	bucket = find(limits, &digest);
	if (memcmp(&bucket->key, &digest, sizeof digest) == 0 && bucket->full_at > at)
		full_at = bucket->full_at;
	ahead = full_at - at - (rate->burst - amount) * rate->interval;
	if (ahead <= 0)
		*bucket = (struct bucket){digest, full_at + amount * rate->interval};
	pthread_mutex_unlock(&limits->lock);
	if (ahead <= 0)
		return ST_OK;
	*wait = (ahead + 999) / 1000;
	return ST_LIMIT;
}

void limits_give_back(struct limits *limits, enum limit_kind kind, const char *key, int64_t amount)
{
	struct digest digest = key_digest(limits, kind, key);
	struct bucket *bucket;

	pthread_mutex_lock(&limits->lock);
	bucket = find(limits, &digest);
	if (memcmp(&bucket->key, &digest, sizeof digest) == 0)
		bucket->full_at -= amount * rates[kind].interval;
	pthread_mutex_unlock(&limits->lock);
}

enum status limits_take(struct limits *limits, enum limit_kind kind, const char *key, int64_t at,
                        int64_t *wait)
{
	return limits_take_many(limits, kind, key, 1, at, wait);
}
