package drivers

import (
	"context"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/abp2"
	"github.com/nightclamp/nightclamp/sensor/ads1115"
	"github.com/nightclamp/nightclamp/sensor/bme280"
	"github.com/nightclamp/nightclamp/sensor/csvfile"
	"github.com/nightclamp/nightclamp/sensor/ds18b20"
	"github.com/nightclamp/nightclamp/sensor/hsc"
	"github.com/nightclamp/nightclamp/sensor/hwmon"
	"github.com/nightclamp/nightclamp/sensor/iio"
	"github.com/nightclamp/nightclamp/sensor/mpr"
)

// The functions below give each driver what it needs of the surroundings.

func openADS1115(_ context.Context, env Env, c ads1115.Config) (sensor.Source, error) {
	return source(ads1115.Open(env.Host, c, env.Now))
}

func openBME280(ctx context.Context, env Env, c bme280.Config) (sensor.Source, error) {
	return source(bme280.Open(ctx, env.Host, c, env.Now))
}

func openCSV(_ context.Context, env Env, c csvfile.Config) (sensor.Source, error) {
	return source(csvfile.Open(c, env.Now))
}

func openDS18B20(_ context.Context, env Env, c ds18b20.Config) (sensor.Source, error) {
	return source(ds18b20.Open(c, env.Now))
}

func openMPR(_ context.Context, env Env, c mpr.Config) (sensor.Source, error) {
	return source(mpr.Open(env.Host, c, env.Now))
}

func openABP2(_ context.Context, env Env, c abp2.Config) (sensor.Source, error) {
	return source(abp2.Open(env.Host, c, env.Now))
}

func openHSC(_ context.Context, env Env, c hsc.Config) (sensor.Source, error) {
	return source(hsc.Open(env.Host, c, env.Now))
}

func openHwmon(_ context.Context, env Env, c hwmon.Config) (sensor.Source, error) {
	return source(hwmon.Open(c, env.Now))
}

func openIIO(_ context.Context, env Env, c iio.Config) (sensor.Source, error) {
	return source(iio.Open(c, env.Now))
}

// source keeps a nil pointer from becoming a source that is not nil.
func source[S sensor.Source](s S, err error) (sensor.Source, error) {
	if err != nil {
		return nil, err
	}
	return s, nil
}
